//! What a configuration says of the listening watch, checked.

use super::Listed;

/// The most bytes of an antenna's label; a file of what was heard keeps 255.
const LONGEST_LABEL: usize = 60;

/// Which passes are listened to unattended, and with what.
#[derive(Debug, Clone, PartialEq)]
pub struct Listening {
    /// The links, all equally important and each less than anything of the agenda.
    pub satellites: Vec<Listed>,
    /// What the antenna is called; empty where the file does not say.
    pub antenna: String,
    /// Whether the beam follows.
    pub beam: bool,
    /// How long the dials of a pass are listened to before it, and after it again, seconds.
    pub margin_s: f64,
    /// Passes that stay below are not listened to, degrees.
    pub minimum_elevation: f64,
    /// How much is kept at most, megabytes; then the oldest days go.
    pub total_mb: f64,
}

impl Listening {
    /// For people: a line each.
    pub(super) fn terms(&self) -> Vec<String> {
        let beam = if self.beam { "the beam follows" } else { "the beam stays" };
        let antenna = if self.antenna.is_empty() { "no antenna is named" } else { &self.antenna };
        vec![
            format!("{beam}; antenna: {antenna}"),
            format!(
                "passes above {} degrees, {} s before and after; {} MB at most",
                self.minimum_elevation, self.margin_s, self.total_mb
            ),
        ]
    }
}

/// A label of an antenna, if the text can be one: on one line, not blank, at most 60 bytes.
pub fn antenna_label(text: &str) -> Option<String> {
    let label = text.trim();
    let fits = !label.is_empty() && label.len() <= LONGEST_LABEL && !label.contains(char::is_control);
    fits.then(|| label.to_owned())
}
