//! Vehicle identification numbers: what the check digit says. Told, never enforced: outside North America it need not hold.

use chillwright_calc::checks::vin::{check_digit_fits, value};

/// What can be said of a VIN.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Vin {
    /// Not 17 characters.
    Short,
    /// Has a character that no VIN has (I, O, Q, or neither letter nor digit).
    Foreign,
    /// The check digit is right (49 CFR 565.15).
    Right,
    /// The check digit is wrong.
    Wrong,
}

/// Judges a VIN in capitals. The arithmetic is the calculation's.
pub fn judge(vin: &str) -> Vin {
    if vin.chars().count() != 17 {
        Vin::Short
    } else if vin.chars().any(|c| value(c).is_none()) {
        Vin::Foreign
    } else if check_digit_fits(vin) {
        Vin::Right
    } else {
        Vin::Wrong
    }
}

impl Vin {
    /// What to say beside the field; nothing where it is right.
    pub fn says(self) -> Option<&'static str> {
        match self {
            Vin::Right => None,
            Vin::Short => Some("A VIN has 17 characters."),
            Vin::Foreign => Some("A VIN has no I, O or Q and nothing but letters and digits."),
            Vin::Wrong => Some(
                "The check digit does not match. On a North American car one character is wrong; elsewhere the VIN may still be right.",
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 49 CFR 565.15, the regulation's own sample.
    #[test]
    fn the_regulations_sample() {
        assert_eq!(judge("1G4AH59H45G118341"), Vin::Right);
        assert_eq!(judge("1G4AH59H45G118331"), Vin::Wrong);
        assert_eq!(judge("11111111111111111"), Vin::Right);
        assert_eq!(judge("1O4AH59H45G118341"), Vin::Foreign);
        assert_eq!(judge("1G4AH59H45G11834"), Vin::Short);
    }
}
