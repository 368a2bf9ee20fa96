//! Runs of one colour, where rows are put together from pieces.

/// Cars in a row by their first and their last run of one colour.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stretch {
    /// Colour and length of the first run.
    pub(crate) first: (u16, usize),
    /// The same of the last run, where there are several.
    pub(crate) last: Option<(u16, usize)>,
}

impl Stretch {
    pub(crate) const fn plain(colour: u16, length: usize) -> Self {
        Self {
            first: (colour, length),
            last: None,
        }
    }

    /// The same cars back to front.
    pub(crate) const fn flipped(self) -> Self {
        match self.last {
            None => self,
            Some(last) => Self {
                first: last,
                last: Some(self.first),
            },
        }
    }
}

/// Changes of colour between the stretches, and cars beyond the longest block
/// in the runs that touch their ends.
pub(crate) fn run_cost(
    stretches: impl IntoIterator<Item = Option<Stretch>>,
    most: usize,
) -> (i64, i64) {
    let (mut changes, mut over) = (0, 0);
    let mut run: Option<(u16, usize)> = None;
    let beyond = |length: usize| length.saturating_sub(most) as i64;
    for stretch in stretches.into_iter().flatten() {
        let (colour, length) = stretch.first;
        run = match run {
            Some((before, so_far)) if before == colour => Some((colour, so_far + length)),
            Some((_, so_far)) => {
                changes += 1;
                over += beyond(so_far);
                Some(stretch.first)
            }
            None => Some(stretch.first),
        };
        if let (Some(last), Some((_, so_far))) = (stretch.last, run) {
            over += beyond(so_far);
            run = Some(last);
        }
    }
    if let Some((_, so_far)) = run {
        over += beyond(so_far);
    }
    (changes, over)
}
