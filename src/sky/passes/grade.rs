//! What a pass is worth, by how high it comes.

/// How good a pass is for a station with a small beam.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// Far away and near the ground.
    Low,
    /// Workable.
    Fair,
    /// Near.
    High,
    /// So steep that a mount must turn fast.
    Overhead,
}

impl Grade {
    /// The word for people and programs.
    pub fn name(self) -> &'static str {
        match self {
            Self::Low => "low",
            Self::Fair => "fair",
            Self::High => "high",
            Self::Overhead => "overhead",
        }
    }
}

/// From which elevation on a pass counts as what; each is higher than the one before, degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grades {
    /// [`Grade::Fair`]; below this a pass is low.
    pub fair_deg: f64,
    /// [`Grade::High`].
    pub high_deg: f64,
    /// [`Grade::Overhead`].
    pub overhead_deg: f64,
}

impl Grades {
    /// What a pass is that comes this high.
    pub fn of(&self, max_elevation_deg: f64) -> Grade {
        match max_elevation_deg {
            high if high >= self.overhead_deg => Grade::Overhead,
            high if high >= self.high_deg => Grade::High,
            high if high >= self.fair_deg => Grade::Fair,
            _ => Grade::Low,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_itself_belongs_to_the_better_grade() {
        let grades = Grades { fair_deg: 15.0, high_deg: 40.0, overhead_deg: 75.0 };
        let graded = [-1.0, 14.99, 15.0, 39.99, 40.0, 74.99, 75.0, 90.0].map(|high| grades.of(high).name());
        assert_eq!(graded, ["low", "low", "fair", "fair", "high", "high", "overhead", "overhead"]);
    }
}
