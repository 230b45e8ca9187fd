//! What tests would show: one line for each, from the smallest leak that it rules out up to the largest, on a scale of powers of ten; a dashed line
//! at the limit, and a band where this car's own leak lies.
use askama::Template;

/// A test.
#[derive(Debug, Clone)]
pub struct Reach {
    /// Its name.
    pub name: String,
    /// Smallest leak that this hold rules out, kg a year.
    pub smallest: f64,
}

/// All of them.
#[derive(Debug, Clone, Default)]
pub struct OutlookPlot {
    /// The tests.
    pub tests: Vec<Reach>,
    /// The limit, kg a year, with its words.
    pub limit: (f64, String),
    /// This car's own leak, kg a year, from and to.
    pub own: Option<(f64, f64)>,
    /// Words of the scale, for 1 g, 10 g … 1000 kg a year.
    pub scale: Vec<String>,
    /// What a screen reader hears.
    pub says: String,
}

#[derive(Template)]
#[template(path = "plot/outlook.svg", escape = "html")]
struct Svg<'a> {
    plot: &'a OutlookPlot,
    height: f64,
    bottom: f64,
    scale: Vec<(f64, &'a str)>,
    limit: f64,
    own: Option<(f64, f64)>,
    lines: Vec<(f64, f64, &'a str)>,
}

const LEFT: f64 = 20.0;
const RIGHT: f64 = 730.0;
const ROW: f64 = 46.0;
const TOP: f64 = 34.0;

/// Where a leak stands: 1 g a year at the left, 1000 kg at the right.
fn x(kg_per_year: f64) -> f64 {
    let decades = (kg_per_year.max(1e-3) / 1e-3).log10().clamp(0.0, 6.0);
    LEFT + (RIGHT - LEFT) * decades / 6.0
}

impl OutlookPlot {
    /// Draws it; nothing where there is no test.
    pub fn svg(&self) -> String {
        if self.tests.is_empty() {
            return String::new();
        }
        let bottom = TOP + ROW * self.tests.len() as f64;
        let svg = Svg {
            plot: self,
            height: bottom + 36.0,
            bottom,
            scale: self
                .scale
                .iter()
                .enumerate()
                .map(|(i, says)| (LEFT + (RIGHT - LEFT) * i as f64 / 6.0, says.as_str()))
                .collect(),
            limit: x(self.limit.0),
            own: self
                .own
                .map(|(low, high)| (x(low), (x(high) - x(low)).max(3.0))),
            lines: self
                .tests
                .iter()
                .enumerate()
                .map(|(i, t)| (x(t.smallest), TOP + ROW * (i as f64 + 0.7), t.name.as_str()))
                .collect(),
        };
        // The template has no fallible filter but formatting of numbers into a string.
        svg.render().unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_test_begins_where_its_smallest_leak_stands() {
        let reach = |smallest| Reach {
            name: "a hold".into(),
            smallest,
        };
        let plot = OutlookPlot {
            tests: vec![reach(0.001), reach(1.0), reach(1000.0), reach(1e9)],
            limit: (0.04, "the limit".into()),
            ..OutlookPlot::default()
        };
        let svg = plot.svg();
        // 1 g, 1 kg and 1000 kg are 0, 3 and 6 powers of ten from the left; what is beyond stays at the edge.
        for begins in ["M20.0 ", "M375.0 ", "M730.0 "] {
            assert!(svg.contains(begins), "{begins} {svg}");
        }
        assert_eq!(svg.matches("class=\"reach\"").count(), 4);
        // 40 g: log10(40)/6 of the way.
        assert!(svg.contains("M209.6 "), "{svg}");
        assert!(!svg.contains("style="));
    }
}
