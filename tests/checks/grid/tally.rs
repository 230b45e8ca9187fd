//! What was called right and what was not.
use super::{
    hold::{Simulated, Temperatures},
    nature::{EITHER_WAY, Nature, judge},
};
use chillwright_calc::record::answer::{HoldFigures, Shape, Verdict};
use std::collections::BTreeMap;

const VERDICTS: [Verdict; 6] = [
    Verdict::Held,
    Verdict::TooShort,
    Verdict::Inconclusive,
    Verdict::Leak,
    Verdict::Moisture,
    Verdict::NotReadable,
];

/// Counts over a grid.
#[derive(Default)]
pub struct Tally {
    pub all: usize,
    pub right: usize,
    /// `held` for a leak that the hold says it excludes.
    pub excluded_but_there: usize,
    /// The same where the first of two readings was too early by just as much as the leak made up for.
    pub excluded_by_chance: usize,
    /// `held` where something moved it beyond 1.6 bounds: leak, water, pump, gas that is not water; gas that comes to rest below 200 Pa and is told
    /// to (`levelling`) apart.
    pub held_but_moved: usize,
    /// Still circuits that could be called so.
    pub tight: usize,
    /// Of them called `inconclusive` or `not-readable`.
    pub tight_open: usize,
    /// Of them called a leak.
    pub tight_leak: usize,
    /// Good circuits that outgas and are called neither `held` nor `inconclusive` (nor `too-short` where it is).
    pub outgassing_accused: usize,
    /// Water called a leak where no shape can be told: fewer than five readings, or no temperature.
    pub water_called_leak_blind: usize,
    table: BTreeMap<&'static str, [usize; VERDICTS.len()]>,
    /// Each wrong one in words.
    pub wrong: Vec<String>,
    /// Each that was held though it moved, in words.
    pub wrongly_held: Vec<String>,
}

impl Tally {
    pub fn count(&mut self, s: &Simulated, hold: &HoldFigures) {
        // Where it cannot be read at all there may be none.
        let bound = hold.bound_pa.unwrap_or(f64::INFINITY);
        let (left_out, watched) = (!hold.left_out.is_empty(), hold.duration_s.unwrap_or(0.0));
        let (class, right) = judge(s, hold.verdict, bound, watched, left_out);
        self.all += 1;
        self.right += usize::from(right);
        let column = VERDICTS
            .iter()
            .position(|v| *v == hold.verdict)
            .expect("a verdict of an ended hold");
        self.table.entry(class).or_default()[column] += 1;
        let told = || {
            format!(
                "{class}: {:?} for {:?}, {:?} {:.1} Pa, {} readings in {:.0} s, temperatures {:?}, moved {:.2} bounds of {bound:.2} Pa, seen {:.2}, {}",
                hold.verdict,
                s.circuit,
                s.nature,
                s.resolution_pa,
                s.readings,
                s.duration,
                s.temperatures,
                s.moved_by(left_out, watched) / bound,
                hold.change_pa.unwrap_or(f64::NAN) / bound,
                hold.why.as_deref().unwrap_or("")
            )
        };
        if hold.verdict == Verdict::Held {
            let shown = hold.smallest_leak_shown_kg_per_year.expect("a figure");
            if s.leak.is_some_and(|leak| leak >= shown) {
                // Of two readings, the first too early by as much as a leak made up for, nothing tells: no other reading stands beside them.
                let count = if s.nature == Nature::UnsettledLeak && s.readings == 2 {
                    &mut self.excluded_by_chance
                } else {
                    &mut self.excluded_but_there
                };
                *count += 1;
                self.wrongly_held.push(format!("excluded, {}", told()));
            }
            let told_to_level =
                s.nature == Nature::Outgassing && hold.shape == Some(Shape::Levelling);
            if s.moved_by(left_out, watched).abs() >= EITHER_WAY * bound && !told_to_level {
                self.held_but_moved += 1;
                self.wrongly_held.push(told());
            }
        }
        if s.could_be_called_still() {
            self.tight += 1;
            self.tight_open +=
                usize::from([Verdict::Inconclusive, Verdict::NotReadable].contains(&hold.verdict));
            self.tight_leak += usize::from(hold.verdict == Verdict::Leak);
        }
        let spared =
            [Verdict::Held, Verdict::Inconclusive, Verdict::TooShort].contains(&hold.verdict);
        self.outgassing_accused += usize::from(s.nature == Nature::Outgassing && !spared);
        let blind = s.readings < 5 || s.temperatures == Temperatures::None;
        self.water_called_leak_blind +=
            usize::from(s.nature == Nature::Wet && hold.verdict == Verdict::Leak && blind);
        if !right {
            self.wrong.push(told());
        }
    }

    pub fn share(&self) -> f64 {
        self.right as f64 / self.all as f64
    }

    pub fn print(&self, title: &str) {
        let percent = |n: usize, of: usize| 100.0 * n as f64 / of.max(1) as f64;
        println!(
            "{title}: {} of {} right, {:.2} %",
            self.right,
            self.all,
            100.0 * self.share()
        );
        println!(
            "  held for an excluded leak {} (and {} of two readings, the first early by just as much), held though something moved beyond {EITHER_WAY} bounds {}",
            self.excluded_but_there, self.excluded_by_chance, self.held_but_moved
        );
        println!(
            "  of {} tight ones cannot tell {} ({:.2} %), a leak {} ({:.2} %)",
            self.tight,
            self.tight_open,
            percent(self.tight_open, self.tight),
            self.tight_leak,
            percent(self.tight_leak, self.tight)
        );
        println!(
            "  outgassing accused {}, water called a leak where no shape can be told {}",
            self.outgassing_accused, self.water_called_leak_blind
        );
        println!(
            "  {:<46}{}",
            "",
            VERDICTS.map(|v| format!("{:>14}", v.word())).concat()
        );
        for (class, row) in &self.table {
            println!("  {class:<46}{}", row.map(|n| format!("{n:>14}")).concat());
        }
    }
}
