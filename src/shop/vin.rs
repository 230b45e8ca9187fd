//! Vehicle identification numbers: what the check digit says. Told, never enforced: outside North America it need not hold.

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

const WEIGHTS: [u32; 17] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];

/// Judges a VIN in capitals by 49 CFR 565.15.
pub fn judge(vin: &str) -> Vin {
    let characters: Vec<char> = vin.chars().collect();
    if characters.len() != 17 {
        return Vin::Short;
    }
    let mut sum = 0;
    for (character, weight) in characters.iter().zip(WEIGHTS) {
        match value(*character) {
            Some(v) => sum += v * weight,
            None => return Vin::Foreign,
        }
    }
    let digit = char::from_digit(sum % 11, 10).unwrap_or('X');
    if characters[8] == digit { Vin::Right } else { Vin::Wrong }
}

impl Vin {
    /// What to say beside the field; nothing where it is right.
    pub fn says(self) -> Option<&'static str> {
        match self {
            Vin::Right => None,
            Vin::Short => Some("A VIN has 17 characters."),
            Vin::Foreign => Some("A VIN has no I, O or Q and nothing but letters and digits."),
            Vin::Wrong => Some("The check digit does not fit. In North America one character is wrong; elsewhere it may be right."),
        }
    }
}

fn value(c: char) -> Option<u32> {
    Some(match c {
        '0'..='9' => c.to_digit(10)?,
        'A' | 'J' => 1,
        'B' | 'K' | 'S' => 2,
        'C' | 'L' | 'T' => 3,
        'D' | 'M' | 'U' => 4,
        'E' | 'N' | 'V' => 5,
        'F' | 'W' => 6,
        'G' | 'P' | 'X' => 7,
        'H' | 'Y' => 8,
        'R' | 'Z' => 9,
        _ => return None,
    })
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
