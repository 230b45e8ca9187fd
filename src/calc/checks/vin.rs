//! Vehicle identification numbers: the check digit of 49 CFR 565.15.

const WEIGHTS: [u32; 17] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];

/// Whether the check digit of a VIN in capitals fits; false for anything that is no VIN of 17 characters.
pub fn check_digit_fits(vin: &str) -> bool {
    let characters: Vec<char> = vin.chars().collect();
    let Some(sum) = characters
        .iter()
        .zip(WEIGHTS)
        .map(|(c, w)| value(*c).map(|v| v * w))
        .sum::<Option<u32>>()
    else {
        return false;
    };
    characters.len() == 17 && characters[8] == char::from_digit(sum % 11, 10).unwrap_or('X')
}

/// The value of a character; `None` for I, O, Q and whatever is neither letter nor digit.
pub fn value(c: char) -> Option<u32> {
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
