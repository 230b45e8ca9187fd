//! What was called right and what was not.
use super::hold::{Nature, Simulated, Temperatures};
use chillwright_calc::record::answer::{HoldFigures, Verdict};
use std::collections::BTreeMap;

/// A rise under this many bounds may be called either way.
pub const EITHER_WAY: f64 = 1.6;
const OUTGASSING_PA: f64 = 200.0;
const MINIMUM_S: f64 = 900.0;
const VERDICTS: [Verdict; 6] = [Verdict::Held, Verdict::TooShort, Verdict::Inconclusive, Verdict::Leak, Verdict::Moisture, Verdict::NotReadable];

/// Counts over a grid.
#[derive(Default)]
pub struct Tally {
    pub all: usize,
    pub right: usize,
    /// `held` for a leak that the hold says it excludes.
    pub excluded_but_there: usize,
    /// `held` where a leak or water moved it beyond 1.6 bounds.
    pub held_but_moved: usize,
    /// Good circuits that outgas and are called neither `held` nor `inconclusive` (nor `too-short` where it is).
    pub outgassing_accused: usize,
    /// Water called a leak where no shape can be told: fewer than five readings, or no temperature.
    pub water_called_leak_blind: usize,
    table: BTreeMap<&'static str, [usize; VERDICTS.len()]>,
    /// Each wrong one in words.
    pub wrong: Vec<String>,
}

impl Tally {
    pub fn count(&mut self, s: &Simulated, hold: &HoldFigures) {
        let bound = hold.bound_pa.expect("a bound");
        let (class, right) = judge(s, hold.verdict, bound);
        self.all += 1;
        self.right += usize::from(right);
        let column = VERDICTS.iter().position(|v| *v == hold.verdict).expect("a verdict of an ended hold");
        self.table.entry(class).or_default()[column] += 1;
        if hold.verdict == Verdict::Held {
            let shown = hold.smallest_leak_shown_kg_per_year.expect("a figure");
            self.excluded_but_there += usize::from(s.leak.is_some_and(|leak| leak >= shown));
            let moved = matches!(s.nature, Nature::Leaking | Nature::Wet) && s.moved.abs() >= EITHER_WAY * bound;
            self.held_but_moved += usize::from(moved);
        }
        let spared = [Verdict::Held, Verdict::Inconclusive, Verdict::TooShort].contains(&hold.verdict);
        self.outgassing_accused += usize::from(s.nature == Nature::Outgassing && !spared);
        self.water_called_leak_blind += usize::from(s.nature == Nature::Wet && hold.verdict == Verdict::Leak && blind(s));
        if !right {
            self.wrong.push(format!(
                "{class}: {:?} for {:?}, {:?} {:.1} Pa, {} readings in {:.0} s, temperatures {:?}, moved {:.2} bounds, seen {:.2}",
                hold.verdict,
                s.circuit,
                s.gauge.kind,
                s.gauge.resolution_pa(),
                s.readings,
                s.duration,
                s.temperatures,
                s.moved / bound,
                hold.change_pa.unwrap_or(f64::NAN) / bound
            ));
        }
    }

    pub fn share(&self) -> f64 {
        self.right as f64 / self.all as f64
    }

    pub fn print(&self, title: &str) {
        println!("{title}: {} of {} right, {:.2} %", self.right, self.all, 100.0 * self.share());
        println!("  held for an excluded leak {}, held beyond {EITHER_WAY} bounds {}", self.excluded_but_there, self.held_but_moved);
        println!("  outgassing accused {}, water called a leak where no shape can be told {}", self.outgassing_accused, self.water_called_leak_blind);
        println!("  {:<44}{}", "", VERDICTS.map(|v| format!("{:>14}", v.word())).concat());
        for (class, row) in &self.table {
            println!("  {class:<44}{}", row.map(|n| format!("{n:>14}")).concat());
        }
    }
}

/// No shape can be told: fewer than five readings, or no temperature that says what pressure water has.
fn blind(s: &Simulated) -> bool {
    s.readings < 5 || s.temperatures == Temperatures::None
}

/// The row of the table, and whether the verdict is right.
fn judge(s: &Simulated, verdict: Verdict, bound: f64) -> (&'static str, bool) {
    use Verdict::*;
    let still = if s.duration < MINIMUM_S { TooShort } else { Held };
    let beyond = s.moved.abs() >= EITHER_WAY * bound;
    match s.nature {
        Nature::Tight => ("tight", verdict == still),
        Nature::Pumped => ("still being pumped", verdict == NotReadable),
        Nature::Outgassing if beyond => ("outgassing that the gauge sees", verdict == still || verdict == Inconclusive),
        Nature::Outgassing => ("outgassing, moved by under 1.6 bounds", verdict == still || verdict == Inconclusive),
        Nature::Leaking if !beyond => ("leak under 1.6 bounds", [still, Leak, Inconclusive, Moisture].contains(&verdict)),
        Nature::Leaking if s.end_pa < OUTGASSING_PA => ("leak below 200 Pa", [Leak, Inconclusive].contains(&verdict)),
        Nature::Leaking => ("leak", verdict == Leak),
        Nature::Wet if !beyond => ("wet, moved by under 1.6 bounds", [Moisture, still, Inconclusive, Leak].contains(&verdict)),
        Nature::Wet if blind(s) => ("wet, no shape can be told", [Moisture, Leak].contains(&verdict) || (verdict == NotReadable && s.moved < 0.0)),
        Nature::Wet => ("wet", verdict == Moisture),
    }
}
