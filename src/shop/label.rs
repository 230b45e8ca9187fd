//! Sizes of printed labels.
use std::fmt;

/// A label's size in whole millimetres; each side between [`LabelSize::SMALLEST`] and [`LabelSize::LARGEST`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LabelSize {
    width: i64,
    height: i64,
}

impl LabelSize {
    /// Below this a QR code of an address can no longer be read from a hand's distance.
    pub const SMALLEST: i64 = 20;
    /// The longer side of A4, about.
    pub const LARGEST: i64 = 300;

    /// A size; `None` where a side is out of bounds.
    pub fn new(width: i64, height: i64) -> Option<Self> {
        [width, height]
            .iter()
            .all(|side| (Self::SMALLEST..=Self::LARGEST).contains(side))
            .then_some(Self { width, height })
    }

    /// Reads `62x29`.
    pub fn parse(text: &str) -> Option<Self> {
        let (width, height) = text.split_once('x')?;
        Self::new(width.parse().ok()?, height.parse().ok()?)
    }

    /// Millimetres.
    pub fn width(self) -> i64 {
        self.width
    }

    /// Millimetres.
    pub fn height(self) -> i64 {
        self.height
    }
}

impl fmt::Display for LabelSize {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}x{}", self.width, self.height)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_reads_back_and_has_bounds() {
        assert_eq!(
            LabelSize::parse("62x29").map(|s| s.to_string()).as_deref(),
            Some("62x29")
        );
        for wrong in [
            "62", "62x", "19x40", "62x301", "62.5x29", "-62x29", "62x29x1",
        ] {
            assert_eq!(LabelSize::parse(wrong), None, "{wrong}");
        }
    }
}
