//! What requests bring: bodies, numbers in addresses, queries; each refusal in
//! the interface's own words.

use axum::body::Bytes;
use axum::extract::rejection::{BytesRejection, QueryRejection};
use axum::extract::{FromRequest, FromRequestParts, Path, Query, Request};
use axum::http::request::Parts;
use axum::http::{StatusCode, header};
use serde::Deserialize;
use serde::de::DeserializeOwned;

use super::failure::Failure;

/// A JSON body.
pub(crate) struct Payload<T>(pub(crate) T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Payload<T> {
    type Rejection = Failure;

    async fn from_request(request: Request, state: &S) -> Result<Self, Failure> {
        let kind = request.headers().get(header::CONTENT_TYPE);
        let kind = kind.and_then(|kind| kind.to_str().ok()).unwrap_or("");
        let plain = kind.split(';').next().unwrap_or("").trim();
        if !plain.eq_ignore_ascii_case("application/json") {
            return Err(Failure::new(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                "not-json",
                format!("a body of type `{plain}`"),
                "send application/json",
            ));
        }
        let Raw(bytes) = Raw::from_request(request, state).await?;
        serde_json::from_slice(&bytes)
            .map(Self)
            .map_err(|error| Failure::bad_request(format!("the body cannot be read: {error}")))
    }
}

/// A body as it is.
pub(crate) struct Raw(pub(crate) Bytes);

impl<S: Send + Sync> FromRequest<S> for Raw {
    type Rejection = Failure;

    async fn from_request(request: Request, state: &S) -> Result<Self, Failure> {
        let bytes = Bytes::from_request(request, state).await;
        bytes.map(Self).map_err(|rejection: BytesRejection| {
            if rejection.status() == StatusCode::PAYLOAD_TOO_LARGE {
                return Failure::new(
                    StatusCode::PAYLOAD_TOO_LARGE,
                    "too-large",
                    "the body is larger than this address takes",
                    "send less at once",
                );
            }
            Failure::bad_request(rejection.body_text())
        })
    }
}

/// The numbers and names of an address.
pub(crate) struct In<T>(pub(crate) T);

impl<S: Send + Sync, T: DeserializeOwned + Send> FromRequestParts<S> for In<T> {
    type Rejection = Failure;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Failure> {
        let path = Path::<T>::from_request_parts(parts, state).await;
        path.map(|Path(value)| Self(value))
            .map_err(|_| Failure::not_found(format!("there is nothing at {}", parts.uri.path())))
    }
}

/// What stands behind the question mark.
pub(crate) struct Asked<T>(pub(crate) T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequestParts<S> for Asked<T> {
    type Rejection = Failure;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Failure> {
        let query = Query::<T>::from_request_parts(parts, state).await;
        query
            .map(|Query(value)| Self(value))
            .map_err(|rejection: QueryRejection| Failure::bad_request(rejection.body_text()))
    }
}

/// What is asked behind the question mark, where its values have limits.
pub(crate) trait Question: DeserializeOwned + Send + 'static {
    /// What it means once it is within them.
    type Meant: Send;

    fn meant(self) -> Result<Self::Meant, Failure>;
}

/// Nothing is asked.
#[derive(Deserialize)]
pub(crate) struct Plainly {}

impl Question for Plainly {
    type Meant = ();

    fn meant(self) -> Result<(), Failure> {
        Ok(())
    }
}

/// What stands behind the question mark, held against its limits.
pub(crate) struct Meant<Q: Question>(pub(crate) Q::Meant);

impl<S: Send + Sync, Q: Question> FromRequestParts<S> for Meant<Q> {
    type Rejection = Failure;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Failure> {
        let Asked(asked) = Asked::<Q>::from_request_parts(parts, state).await?;
        asked.meant().map(Self)
    }
}
