//! Numbers as people type them.
use super::QuantityError;

/// Reads a decimal number: `28`, `-0.5`, `.5`, `1e3`, and `1,5` for one and a half.
///
/// # Errors
/// Letters, nothing at all, an infinite number, and `1,200`, which some read as 1.2 and others as 1200.
pub fn parse_number(text: &str) -> Result<f64, QuantityError> {
    let refuse = |why: &str| Err(QuantityError::new(format!("{text:?}: {why}")));
    if !text.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | ','))
        || !text
            .chars()
            .all(|c| c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | ',' | 'e' | 'E'))
    {
        return refuse("not a number");
    }
    let plain = match text.split_once(',') {
        None => text.to_owned(),
        Some((_, after)) if after.contains(',') || text.contains('.') => {
            return refuse("write the number with one point and no commas");
        }
        Some((before, after)) => {
            let whole = before.trim_start_matches(['+', '-']);
            let groups = after.len() == 3 && (1..=3).contains(&whole.len());
            if groups && !whole.starts_with('0') {
                let short = after.trim_end_matches('0');
                let point = if short.is_empty() { "0" } else { short };
                return refuse(&format!("write {before}.{point} or {before}{after}"));
            }
            format!("{before}.{after}")
        }
    };
    match plain.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        Ok(_) => refuse("the number is too large"),
        Err(_) => refuse("not a number"),
    }
}
