//! Check digits of vehicle identification numbers.
use super::table::rows;
use chillwright_calc::checks::vin::{check_digit_fits, value};

/// 49 CFR 565.15: its sample, whose weighted sum is 411; ones throughout; a wrong digit; letters that no VIN has.
#[test]
fn the_regulations_sample() {
    assert!(check_digit_fits("1G4AH59H45G118341") && check_digit_fits("11111111111111111"));
    assert!(!check_digit_fits("1G4AH59H45G118331"));
    assert!(
        ['I', 'O', 'Q', 'a', '-']
            .iter()
            .all(|c| value(*c).is_none())
    );
    assert!(!check_digit_fits("1I4AH59H45G118341") && !check_digit_fits("1G4AH59H45G11834"));
}

/// By a script's own arithmetic over the regulation's tables.
#[test]
fn check_digits_agree_with_the_scripts() {
    let table = rows(include_str!("tables/vin.csv"));
    let right = table.iter().filter(|row| row[3] == "1").count();
    assert!(
        right >= 40 && table.len() - right >= 30,
        "{right} of {}",
        table.len()
    );
    for row in &table {
        assert_eq!(check_digit_fits(row[0]), row[3] == "1", "{row:?}");
        // The digit that belongs there makes it right.
        let mended = format!("{}{}{}", &row[0][..8], row[2], &row[0][9..]);
        assert!(check_digit_fits(&mended), "{mended}");
    }
}
