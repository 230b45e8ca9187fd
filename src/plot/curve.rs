//! A hold's readings against time: the gauge's graduations as grid, half a graduation either way as band, a dashed line at the bound.
//! Pressure rises upwards, whichever way the gauge counts.
use askama::Template;

/// A hold as its gauge shows it.
#[derive(Debug, Clone, Default)]
pub struct HoldCurve {
    /// Seconds from closing off, and what the gauge shows.
    pub points: Vec<(f64, f64)>,
    /// The gauge counts down into vacuum: more is less pressure.
    pub inverted: bool,
    /// One graduation or the last digit, in the gauge's unit.
    pub graduation: f64,
    /// How far the pressure may move before it is called, in the gauge's unit.
    pub bound: f64,
    /// A pressure hold is called when it falls, a vacuum hold when it rises.
    pub falls: bool,
    /// What stands at the dashed line: "beyond this line: leak or water".
    pub beyond: String,
    /// Times along the bottom: seconds, words.
    pub times: Vec<(f64, String)>,
    /// Right edge, seconds.
    pub end: f64,
    /// From when the next reading helps: seconds, words.
    pub next: Option<(f64, String)>,
    /// An earlier hold to compare with, in the same unit; its times count from its own closing off.
    pub earlier: Vec<(f64, f64)>,
    /// What stands at the end of each line where there are two: this hold, the earlier one.
    pub names: (String, String),
    /// What a screen reader hears.
    pub says: String,
}

#[derive(Template)]
#[template(path = "plot/curve.svg", escape = "html")]
struct Svg<'a> {
    curve: &'a HoldCurve,
    grid: Vec<(f64, String)>,
    limit: f64,
    band: String,
    line: String,
    earlier: String,
    dots: Vec<(f64, f64)>,
    times: Vec<(f64, &'a str, &'static str)>,
    next: Option<(f64, &'a str)>,
    names: Vec<Name<'a>>,
}

/// What a line is called, at its end.
struct Name<'a> {
    x: f64,
    y: f64,
    anchor: &'static str,
    says: &'a str,
}

const LEFT: f64 = 66.0;
const RIGHT: f64 = 744.0;
const TOP: f64 = 14.0;
const BOTTOM: f64 = 172.0;
/// More grid lines than this are no help.
const MOST_LINES: f64 = 7.0;

impl HoldCurve {
    /// Draws it; nothing where there is no reading.
    pub fn svg(&self) -> String {
        let Some(&(_, first)) = self.points.first() else {
            return String::new();
        };
        let up = |v: f64| if self.inverted { -v } else { v };
        let limit = if self.falls {
            up(first) - self.bound
        } else {
            up(first) + self.bound
        };
        let all = self.points.iter().chain(&self.earlier).map(|(_, v)| up(*v));
        let (low, high) = all.fold((limit.min(up(first)), limit.max(up(first))), |(l, h), v| {
            (l.min(v), h.max(v))
        });
        let (low, high) = (
            low - self.graduation,
            high + self.graduation.max(0.1 * (high - low)),
        );
        let last = self
            .points
            .iter()
            .chain(&self.earlier)
            .map(|p| p.0)
            .fold(self.end, f64::max)
            .max(60.0);
        let x = |t: f64| LEFT + (RIGHT - LEFT) * (t / last).clamp(0.0, 1.0);
        let y = |v: f64| BOTTOM - (BOTTOM - TOP) * (v - low) / (high - low);
        let path = |points: &[(f64, f64)], shift: f64| -> Vec<String> {
            points
                .iter()
                .map(|(t, v)| format!("{:.1} {:.1}", x(*t), y(up(*v) + shift)))
                .collect()
        };
        let half = 0.5 * self.graduation;
        let (mut upper, lower) = (path(&self.points, half), path(&self.points, -half));
        upper.extend(lower.into_iter().rev());
        let svg = Svg {
            grid: self
                .grid(low, high)
                .into_iter()
                .map(|v| (y(v), self.label(if self.inverted { -v } else { v })))
                .collect(),
            limit: y(limit),
            band: format!("M{}Z", upper.join("L")),
            line: format!("M{}", path(&self.points, 0.0).join("L")),
            earlier: if self.earlier.is_empty() {
                String::new()
            } else {
                format!("M{}", path(&self.earlier, 0.0).join("L"))
            },
            dots: self
                .points
                .iter()
                .map(|(t, v)| (x(*t), y(up(*v))))
                .collect(),
            times: self.times_at(x),
            names: self.names_at(x, |v| y(up(v))),
            next: self.next.as_ref().map(|(t, says)| (x(*t), says.as_str())),
            curve: self,
        };
        // The template writes into a string and calls nothing that fails.
        svg.render().unwrap_or_default()
    }

    /// The two names, each beside the end of its line and clear of the other; none where there is one line only.
    fn names_at(&self, x: impl Fn(f64) -> f64, y: impl Fn(f64) -> f64) -> Vec<Name<'_>> {
        let (Some(this), Some(that)) = (self.points.last(), self.earlier.last()) else {
            return Vec::new();
        };
        // The one whose line ends higher has its name above, the other below.
        let this_is_higher = y(this.1) <= y(that.1);
        [
            (this, &self.names.0, this_is_higher),
            (that, &self.names.1, !this_is_higher),
        ]
        .map(|((t, v), says, above)| {
            let x = x(*t);
            let (x, anchor) = if x > 0.5 * (LEFT + RIGHT) {
                (x - 10.0, "end")
            } else {
                (x + 10.0, "start")
            };
            Name {
                x,
                y: (y(*v) + if above { -12.0 } else { 24.0 }).clamp(TOP + 4.0, BOTTOM - 4.0),
                anchor,
                says,
            }
        })
        .into()
    }

    /// Grid lines at graduations, thinned by 1, 2, 5 where they would stand too close.
    fn grid(&self, low: f64, high: f64) -> Vec<f64> {
        let mut step = if self.graduation > 0.0 {
            self.graduation
        } else {
            (high - low) / 4.0
        };
        for factor in [2.0, 2.5, 2.0].into_iter().cycle().take(60) {
            if (high - low) / step <= MOST_LINES {
                break;
            }
            step *= factor;
        }
        let first = (low / step).ceil();
        (0..12)
            .map(|i| (first + f64::from(i)) * step)
            .take_while(|v| *v <= high)
            .collect()
    }

    fn label(&self, v: f64) -> String {
        let digits = if self.graduation >= 1.0 {
            0
        } else {
            (-self.graduation.log10()).ceil().clamp(0.0, 4.0) as usize
        };
        let text = format!("{v:.digits$}");
        if text
            .trim_start_matches('-')
            .chars()
            .all(|c| matches!(c, '0' | '.'))
        {
            text.trim_start_matches('-').to_owned()
        } else {
            text
        }
    }

    /// Words along the bottom, those left out that would run into the one before.
    fn times_at(&self, x: impl Fn(f64) -> f64) -> Vec<(f64, &str, &'static str)> {
        let mut last = f64::NEG_INFINITY;
        let mut at = Vec::new();
        for (t, says) in &self.times {
            let x = x(*t);
            if x - last < 58.0 {
                continue;
            }
            last = x;
            at.push((
                x,
                says.as_str(),
                if x < LEFT + 30.0 {
                    "start"
                } else if x > RIGHT - 40.0 {
                    "end"
                } else {
                    "mid"
                },
            ));
        }
        at
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dial() -> HoldCurve {
        HoldCurve {
            points: vec![(0.0, 28.0), (240.0, 28.0), (1200.0, 27.0)],
            inverted: true,
            graduation: 0.5,
            bound: 0.51,
            beyond: "beyond this line: leak or water".into(),
            times: vec![
                (0.0, "10:34".into()),
                (1.0, "10:34".into()),
                (1200.0, "10:54".into()),
            ],
            end: 1200.0,
            next: Some((900.0, "the next reading helps from here".into())),
            says: "28.0 inHg, then 27.0".into(),
            ..HoldCurve::default()
        }
    }

    #[test]
    fn less_vacuum_stands_higher() {
        let svg = dial().svg();
        let ys: Vec<f64> = svg
            .split("<circle")
            .skip(1)
            .map(|c| {
                c.split("cy=\"")
                    .nth(1)
                    .and_then(|s| s.split('"').next())
                    .and_then(|s| s.parse().ok())
                    .expect("a number")
            })
            .collect();
        assert_eq!(ys.len(), 3);
        assert!(ys[2] < ys[0] && (ys[0] - ys[1]).abs() < 1e-9, "{ys:?}");
        assert!(svg.contains(">28.0<") && svg.contains(">27.5<"));
        assert_eq!(svg.matches(">10:34<").count(), 1);
        assert!(!svg.contains("style=") && !svg.contains("NaN"));
    }

    #[test]
    fn two_holds_are_told_apart_by_their_line_and_a_name_at_its_end() {
        let alone = dial();
        assert!(!alone.svg().contains("line earlier") && !alone.svg().contains("class=\"k "));
        let names = ("this hold".to_owned(), "h1, 09:43".to_owned());
        let two = HoldCurve {
            earlier: vec![(0.0, 28.0), (1800.0, 26.0)],
            names,
            ..dial()
        };
        let svg = two.svg();
        assert_eq!(
            (
                svg.matches("line earlier").count(),
                svg.matches("class=\"k ").count()
            ),
            (1, 2)
        );
        let place = |name: &str| -> (f64, f64) {
            let text = svg
                .split("<text")
                .find(|t| t.contains(&format!(">{name}<")))
                .expect("a name");
            let number = |key: &str| {
                text.split(&format!(" {key}=\""))
                    .nth(1)
                    .and_then(|s| s.split('"').next())
                    .and_then(|s| s.parse().ok())
                    .expect("a number")
            };
            (number("x"), number("y"))
        };
        let (this, that) = (place("this hold"), place("h1, 09:43"));
        // The earlier one lasted longer and lost more vacuum: its line ends further right and higher, and so its name.
        assert!(
            that.0 > this.0 && that.1 + 14.0 < this.1,
            "{this:?} {that:?}"
        );
        let d = svg
            .split("class=\"line earlier\" d=\"")
            .nth(1)
            .and_then(|s| s.split('"').next())
            .expect("a path");
        assert!(
            d.ends_with(&format!("{:.1}", that.1 + 12.0)) && d.contains(&format!("L{RIGHT:.1} ")),
            "{d} {that:?}"
        );
    }

    #[test]
    fn a_flat_hold_on_a_fine_gauge_has_a_grid_that_can_be_read() {
        let fine = HoldCurve {
            points: vec![(0.0, 400.0), (600.0, 1400.0)],
            graduation: 1.0,
            bound: 30.0,
            end: 600.0,
            ..HoldCurve::default()
        };
        let svg = fine.svg();
        let lines = svg
            .split("class=\"grid\"")
            .nth(1)
            .expect("a grid")
            .split('"')
            .nth(1)
            .expect("a path")
            .matches('M')
            .count();
        assert!((3..=8).contains(&lines), "{lines}");
        assert!(HoldCurve::default().svg().is_empty());
    }
}
