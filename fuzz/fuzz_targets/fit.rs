//! No text crashes the reader of a question on times: it is refused with its
//! reasons, or answered, and what the answer says of the times holds.

#![no_main]

use evidence::fit::question;
use libfuzzer_sys::fuzz_target;
use linewright_fuzz::reasons;

fuzz_target!(|bytes: &[u8]| {
    // A fit repeats itself many times; a few dozen times are enough here.
    let Some(text) = std::str::from_utf8(bytes)
        .ok()
        .filter(|text| text.len() < 400)
    else {
        return;
    };
    let question = match question::parse(text) {
        Err(problems) => return reasons(&problems),
        Ok(question) => question,
    };
    let answer = question.answer();
    let shares: Vec<f64> = answer.survival.iter().map(|step| step.share).collect();
    assert!(
        shares.iter().all(|share| (0.0..=1.0).contains(share)),
        "{shares:?}"
    );
    assert!(
        shares.windows(2).all(|pair| pair[0] >= pair[1]),
        "{shares:?}"
    );
    for fitted in &answer.fit.families {
        let (shape, scale) = (&fitted.shape, &fitted.scale);
        assert!(shape.value > 0.0 && scale.value > 0.0, "{fitted:?}");
        assert!(!fitted.aic.is_nan(), "{fitted:?}");
    }
    serde_json::to_string(&answer).expect("an answer is JSON");
});
