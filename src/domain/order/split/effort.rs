//! How much a search may do, and how much it has done.

/// Where a search ends though it is not through.
#[derive(Clone, Copy, Debug)]
pub(super) struct Limits {
    /// Partial choices that are kept at once, at a first look, a second, and a third; the less promising ones go, and with
    /// them the proof.
    pub(super) widths: [usize; 3],
    /// Partial choices made.
    pub(super) made: usize,
    /// Decisions about suppliers that are looked at. With ten suppliers there are at most 88,573 of them.
    pub(super) nodes: usize,
}

impl Limits {
    /// Some tenths of a second of work, and some megabytes: nobody waits longer for an order to be planned anew.
    pub(super) const USUAL: Limits = Limits { widths: [100, 2_000, 10_000], made: 400_000, nodes: 100_000 };
}

/// How much was done.
#[derive(Debug)]
pub(super) struct Effort {
    limits: Limits,
    made: usize,
    nodes: usize,
    /// There is something that can be handed on.
    pub(super) found: bool,
}

impl Effort {
    /// Nothing yet.
    pub(super) fn new(limits: Limits, found: bool) -> Effort {
        Effort { limits, made: 0, nodes: 0, found }
    }

    /// So many partial choices were made, or as much work was done.
    pub(super) fn make(&mut self, made: usize) {
        self.made += made;
    }

    /// One more decision about suppliers is looked at.
    pub(super) fn look(&mut self) {
        self.nodes += 1;
    }

    /// Enough was done; where nothing is found yet, it takes longer.
    pub(super) fn is_spent(&self) -> bool {
        let times = if self.found { 1 } else { 3 };
        self.made > times * self.limits.made || self.nodes > times * self.limits.nodes
    }

    /// How many partial choices are kept at once when it is tried for the so-manieth time, counted from none; `None` where
    /// that was the last.
    pub(super) fn width(&self, tried: usize) -> Option<usize> {
        self.limits.widths.get(tried).copied()
    }

    /// The same when enough was done.
    pub(super) fn least_width(&self) -> usize {
        self.limits.widths[0]
    }
}
