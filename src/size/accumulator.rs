//! What an accumulator adds to a weak main. In: the main's curve and the flow that is drawn. Out:
//! the pressure that is left at the end of a peak, where the main alone would have given less.

use super::Figure;
use super::note::{Note, plain};
use super::pressure::Main;
use super::work::Work;
use crate::catalogue::limits::Limit;
use crate::model::Part;

/// What is left at the end of a peak.
pub struct Relieved {
    tag: String,
    /// Gauge bar.
    pub pressure: f64,
    litres: f64,
    charge: f64,
    minutes: Limit,
    /// What the main itself gives then, l/s.
    from_main: f64,
    assumed: bool,
}

/// The accumulators that the main fills by its own pressure; `None` where there are none, or where
/// a pump or a break tank stands between.
pub fn relieved(work: &Work, main: &Main, flow: f64) -> Option<Relieved> {
    let parts = &work.system.parts;
    let of = |key: &'static str| parts.iter().filter(move |p| p.kind.key == key);
    let boosted = of("booster pump").chain(of("break tank")).next().is_some();
    if boosted || of("water main").count() != 1 {
        return None;
    }
    let sound = |p: &&Part| p.number("litres").is_some_and(|l| l > 0.0);
    let vessels: Vec<&Part> = of("accumulator").filter(sound).collect();
    let first = *vessels.first()?;
    let litres: f64 = vessels.iter().filter_map(|p| p.number("litres")).sum();
    let charge = first.number("charge").unwrap_or(0.0).max(0.0);
    let minutes = work.aims.limit("SIZE.accumulator-peak").clone();
    let (pressure, from_main) = end_of_peak(main, flow, litres, charge, minutes.value * 60.0);
    let assumed =
        vessels.iter().any(|p| ["litres", "charge"].iter().any(|k| p.attrs.is_assumed(k)));
    Some(Relieved {
        tag: first.tag.clone(),
        pressure,
        litres,
        charge,
        minutes,
        from_main,
        assumed: assumed || !main.measured,
    })
}

/// Pressure (gauge bar) at which the water that the vessel has given since it was full, by Boyle,
/// and what the main gives at that pressure, by its curve, make up the draw; and the main's flow,
/// l/s.
fn end_of_peak(main: &Main, flow: f64, litres: f64, charge: f64, seconds: f64) -> (f64, f64) {
    let air = |bar: f64| litres * (charge + 1.0) / (bar.max(charge) + 1.0);
    let given = |bar: f64| air(bar) - air(main.standing);
    let from_main = |bar: f64| {
        let fall = (main.standing - main.dynamic).max(1e-6);
        (main.at * ((main.standing - bar).max(0.0) / fall).sqrt()).min(flow)
    };
    let (mut low, mut high) = (0.0, main.standing);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        // At a lower pressure both give more.
        if given(middle) + from_main(middle) * seconds < flow * seconds {
            high = middle;
        } else {
            low = middle;
        }
    }
    (low, from_main(low))
}

impl Relieved {
    pub fn figure(&self, main: &Main, flow: f64, alone: f64) -> Figure {
        let pressure = self.pressure.max(alone);
        Note::new("accumulator.pressure", &self.tag, "pressure left at the end of a peak")
            .by(
                "Boyle at constant temperature, and the main's curve",
                "V (p0+1) (1/(p+1) - 1/(ps+1)) = (q - qm) t, with qm = qd sqrt((ps-p)/(ps-pd))",
                &self.minutes.source,
            )
            .with("V", self.litres, "l")
            .with("p0", self.charge, "bar")
            .with("ps", main.standing, "bar")
            .with("pd", main.dynamic, "bar")
            .with("qd", main.at, "l/s")
            .with("q", flow, "l/s")
            .with("t", self.minutes.value * 60.0, "s")
            .with("qm", self.from_main, "l/s")
            .assumed(self.assumed)
            .gives(
                pressure,
                "bar",
                format!(
                    "{} bar after {} min, the main alone {} bar",
                    plain(pressure, 2),
                    plain(self.minutes.value, 0),
                    plain(alone, 2)
                ),
            )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 300 l charged to 2 bar, main 4 bar standing, 3 bar at 0.25 l/s, draw 0.6 l/s for
    /// 600 s. At p = 2.6 bar the vessel has given 300 x 3 x (1/3.6 - 1/5) = 70.0 l and the main
    /// 0.25 x sqrt(1.4) = 0.2958 l/s, 177.5 l: 247.5 of 360 l. At its charge, 2 bar, 120 l and
    /// 0.3536 l/s, 212.1 l: 332 of 360 l. Then the vessel is empty and the main gives 240 l in all:
    /// 0.25 sqrt(4 - p) = 0.4, p = 1.44 bar.
    #[test]
    fn a_vessel_run_empty() {
        let main = Main { standing: 4.0, dynamic: 3.0, at: 0.25, measured: true };
        let (p, q) = end_of_peak(&main, 0.6, 300.0, 2.0, 600.0);
        assert!((p - 1.44).abs() < 0.001 && (q - 0.4).abs() < 0.001, "{p} {q}");
        // Half the draw, 0.45 l/s: at 2.4 bar 300 x 3 x (1/3.4 - 1/5) = 84.7 l and 0.25 sqrt(1.6) x
        // 600 = 189.7 l make 274.4 of 270 l; at 2.45 bar 80.87 + 186.75 = 267.6 l.
        let (p, _) = end_of_peak(&main, 0.45, 300.0, 2.0, 600.0);
        assert!(p > 2.40 && p < 2.45, "{p}");
    }
}
