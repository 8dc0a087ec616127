//! The floor under a filled cylinder.

use crate::catalogue::limits::Limit;
use crate::check::context::CYLINDERS;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};

pub const RULES: &[Rule] = &[Rule {
    id: "STR01",
    severity: Severity::Warning,
    title: "cylinder heavier than the floor is designed for",
    what: "A filled cylinder on a timber floor that puts more than 2 kN on one point, or more \
           than 1.5 kN/m2 on the cupboard's floor, with no spreader stated; as advice, the latter on a \
           floor that nobody has described.",
    why: "A dwelling's joists were sized for furniture; a point load sags or cracks them.",
    source: "NA to BS EN 1991-1-1, from memory",
    mend: "spread the load across the joists, and ask an engineer",
    run: floor_load,
}];

/// Newtons a kilogram presses with.
const GRAVITY: f64 = 9.806_65;

fn floor_load(cx: &Context, out: &mut Verdicts) {
    let (point, spread) = (cx.limit("STR01.point"), cx.limit("STR01.spread"));
    let Some(cupboard) = &cx.system.site.cupboard else { return };
    let floor = &cupboard.floor.attrs;
    // Nothing is known against a solid floor; one nobody has described may be of timber.
    let timber =
        floor.text("kind").is_some_and(|k| k.contains("timber") || k.contains("chipboard"));
    let spreader = crate::check::context::flag_of(floor, "spreader") == Some(true)
        || floor.text("spreader").is_some_and(|s| !["", "no", "none"].contains(&s));
    if floor.text("kind").is_none() {
        undescribed(cx, out, &spread);
        return;
    }
    if !timber {
        return;
    }
    let guessed = floor.is_assumed("kind");
    for cylinder in cx.of_any(&CYLINDERS).into_iter().filter(|c| cx.stands_in_cupboard(*c)) {
        let figure = cx.figure("store.mass", cx.tag(cylinder));
        let mass = figure.map(|f| (f.value, f.assumed)).or_else(|| {
            let litres = cx.number(cylinder, "litres")?;
            let empty = cx.number(cylinder, "mass")?;
            Some((litres.value + empty.value, litres.assumed || empty.assumed))
        });
        let Some((mass, mass_guessed)) = mass else { continue };
        let kilonewtons = mass * GRAVITY / 1000.0;
        let s = say(format!(
            "{mass:.0} kg when full, {kilonewtons:.1} kN at one point, floors take {} kN",
            point.value
        ))
        .on(cx, cylinder)
        .found(kilonewtons, "kN")
        .limit(&point)
        .margin(point.value - kilonewtons);
        if kilonewtons > point.value && !spreader {
            out.fail(s.assumed(guessed || mass_guessed));
        } else {
            out.pass(s.assumed(guessed || mass_guessed));
        }
    }
    for figure in cx.figures("cupboard.floor-load") {
        let s = say(format!(
            "{:.1} kN/m2 over the cupboard's floor, designed for {} kN/m2",
            figure.value, spread.value
        ))
        .on_tag(&figure.about)
        .found(figure.value, spread.unit)
        .limit(&spread)
        .margin(spread.value - figure.value);
        if figure.value > spread.value && !spreader {
            // The load of a cupboard runs into its walls and neighbours; the point load decides.
            out.fail(s.severity(Severity::Advice));
        } else {
            out.pass(s);
        }
    }
}

/// A floor of which nothing is known: too much for joists must be judged by somebody.
fn undescribed(cx: &Context, out: &mut Verdicts, spread: &Limit) {
    for figure in cx.figures("cupboard.floor-load").filter(|f| f.value > spread.value) {
        let s = say(format!(
            "{:.1} kN/m2 over a floor that is not described; a dwelling's joists are designed for {} \
             kN/m2",
            figure.value, spread.value
        ))
        .on_tag(&figure.about)
        .found(figure.value, spread.unit)
        .limit(spread)
        .margin(spread.value - figure.value)
        .severity(Severity::Advice)
        .mend("look what the floor is and state it, `floor kind=solid` or `kind=timber`; ask an engineer about timber");
        out.fail(s.assumed(figure.assumed));
    }
}
