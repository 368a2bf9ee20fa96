//! Blanks on a coil's strip: outlines, layouts that waste least, and the proof
//! that they fit.
//!
//! Numbers in, numbers with a bound out; nothing here knows what a part is for,
//! touches a file or a screen.
//!
//! - [`Outline`]: a blank of straight and round edges with holes, found sound.
//!   [`read`] takes it out of DXF drawings and SVG paths.
//! - [`lay`]: the layouts of a [`Request`], each with its independent measurement
//!   and the utilisation that no layout of its kind can beat.
//! - [`draw`]: a layout as SVG and DXF.
//! - [`question`]: the same as one JSON question and its answer.
//!
//! ```
//! use strip::{Kind, Outline, Request, Vertex, Watch, Window, lay};
//!
//! // A roof reinforcement of 300 by 200 mm under a die with webs and edges of 5 mm.
//! let corners = [(0., 0.), (300., 0.), (300., 200.), (0., 200.)];
//! let corners = corners.map(|(x, y)| Vertex::corner(x, y));
//! let blank = Outline::new(&corners, &[]).map_err(|faults| faults[0].to_string())?;
//! let mut request = Request::die(blank, 5.0, 5.0);
//! request.kinds = vec![Kind::Single];
//!
//! // The grain keeps it along the strip: a pitch of 305 mm on a strip of 210 mm.
//! request.grain = vec![Window { from_deg: 0.0, to_deg: 0.0 }];
//! let laid = |request: &Request| {
//!     lay(request, &Watch::none()).map_err(|refusals| refusals[0].to_string())
//! };
//! let along = laid(&request)?;
//! let along = along.best().ok_or("no layout")?;
//! assert!((along.utilisation - 60_000.0 / (305.0 * 210.0)).abs() < 1e-6);
//!
//! // Free to turn, it lies across: 205 mm on 310 mm lose less at the edges. No single
//! // row of it is better than the bound, which the layout meets.
//! request.grain.clear();
//! let across = laid(&request)?;
//! let across = across.best().ok_or("no layout")?;
//! assert!((across.utilisation - 60_000.0 / (205.0 * 310.0)).abs() < 1e-6);
//! assert!(across.bound >= across.utilisation && across.is_proven());
//! assert!(across.clearance_mm > 5.0 - 1e-6);
//! # Ok::<(), String>(())
//! ```
//!
//! *Never:* a coil, a price, a file, a clock on the wall.

mod across;
mod angles;
mod border;
pub mod draw;
mod forbidden;
mod lay;
mod layout;
mod outline;
mod piece;
mod pitch;
mod point;
pub mod question;
pub mod read;
mod search;
mod skyline;
mod verify;

pub use lay::lay;
pub use layout::{
    Best, Cut, Kind, Layout, NoLayout, Outcome, Partner, Placement, Progress, Refusal, Request,
    Watch, Window,
};
pub use outline::{Fault, Outline, Vertex, Wrong};
pub use point::{Extent, Point};
