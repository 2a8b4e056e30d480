//! Where the operator's licence lets the transmitter be.

use super::Hertz;

/// A range of frequencies, both ends included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Segment {
    /// Lower edge.
    pub from: Hertz,
    /// Upper edge.
    pub to: Hertz,
}

/// The transmit segments that the configuration names. Without any, the station only receives.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Segments(Vec<Segment>);

impl Segments {
    /// From ranges; one with its edges exchanged allows nothing.
    pub fn new(segments: Vec<Segment>) -> Self {
        Self(segments)
    }

    /// Whether the station may transmit on exactly this frequency.
    pub fn allow(&self, frequency: Hertz) -> bool {
        self.0.iter().any(|segment| segment.from <= frequency && frequency <= segment.to)
    }

    /// Whether nothing may be transmitted at all.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The ranges, as configured.
    pub fn iter(&self) -> impl Iterator<Item = &Segment> {
        self.0.iter()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_edges_belong_to_the_segment_and_nothing_allows_nothing() {
        let segments = Segments::new(vec![Segment { from: Hertz(100), to: Hertz(200) }]);
        let allowed: Vec<bool> = [99, 100, 200, 201].map(|hz| segments.allow(Hertz(hz))).into();
        assert_eq!(allowed, [false, true, true, false]);
        assert!(!Segments::default().allow(Hertz(150)));
    }
}
