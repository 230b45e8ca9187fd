//! Reading the tables, and holding deviations.

/// The largest relative deviation (or absolute one), held under `most`.
pub struct Largest {
    what: &'static str,
    most: f64,
    found: f64,
    at: String,
}

impl Largest {
    pub fn new(what: &'static str, most: f64) -> Self {
        Self {
            what,
            most,
            found: 0.0,
            at: String::new(),
        }
    }
    /// A relative deviation.
    pub fn see(&mut self, ours: f64, theirs: f64, at: &str) {
        self.off((ours / theirs - 1.0).abs(), ours, theirs, at);
    }
    /// An absolute one.
    pub fn see_difference(&mut self, ours: f64, theirs: f64, at: &str) {
        self.off((ours - theirs).abs(), ours, theirs, at);
    }
    fn off(&mut self, off: f64, ours: f64, theirs: f64, at: &str) {
        // Not a number would pass every comparison.
        assert!(
            off.is_finite(),
            "{} at {at}: {ours} against {theirs}",
            self.what
        );
        if off > self.found {
            (self.found, self.at) = (off, at.to_owned());
        }
    }
    pub fn end(self) {
        println!(
            "{}: largest deviation {:.2e} at {}",
            self.what, self.found, self.at
        );
        assert!(
            self.found <= self.most,
            "{}: {} at {}",
            self.what,
            self.found,
            self.at
        );
    }
}

/// The rows of a table, without the line on its origin and the heading.
pub fn rows(table: &str) -> Vec<Vec<&str>> {
    let rows: Vec<Vec<&str>> = table
        .lines()
        .skip(2)
        .map(|line| line.split(',').collect())
        .collect();
    assert!(!rows.is_empty(), "an empty table");
    rows
}

pub fn number(cell: &str) -> f64 {
    cell.parse().expect("a number")
}

/// Within a relative deviation.
#[track_caller]
pub fn near(found: f64, wanted: f64, relative: f64) {
    assert!(
        (found / wanted - 1.0).abs() <= relative,
        "{found} is not within {relative} of {wanted}"
    );
}

/// Within an absolute one.
#[track_caller]
pub fn within(found: f64, wanted: f64, most: f64) {
    assert!(
        (found - wanted).abs() <= most,
        "{found} is not within {most} of {wanted}"
    );
}

/// Pa of an inch of mercury, NIST SP 811, appendix B.8.
pub const INHG: f64 = 3386.389;
/// Pa of a psi, the same.
pub const PSI: f64 = 6894.757;
/// Sea level, Pa.
pub const ATM: f64 = 101_325.0;

/// K of degF.
pub fn fahrenheit(f: f64) -> f64 {
    (f + 459.67) / 1.8
}
