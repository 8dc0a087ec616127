//! Cables and boxes.

use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};
use crate::wire::netlist::DeviceKind;

pub const RULES: &[Rule] = &[
    Rule {
        id: "CTL11",
        severity: Severity::Warning,
        title: "too few cores in a cable",
        what: "A cable that has to carry more conductors than it has cores.",
        why: "It shows at second fix, when the wall is plastered.",
        source: "arithmetic",
        mend: "pull a cable with enough cores",
        run: cores,
    },
    Rule {
        id: "CTL12",
        severity: Severity::Warning,
        title: "wiring box with too few ways",
        what: "More ways in use than the wiring box has.",
        why: "The last cores end up in loose connectors.",
        source: "common practice",
        mend: "take a bigger box",
        run: ways,
    },
    Rule {
        id: "CTL13",
        severity: Severity::Warning,
        title: "ordinary flex on a hot part",
        what: "A cable on an element, a cylinder or another hot part that is not heat-resistant.",
        why: "PVC hardens and cracks at the temperature of an element's cap.",
        source: "common practice, makers' instructions",
        mend: "use heat-resistant flex",
        run: heat,
    },
];

fn cores(cx: &Context, out: &mut Verdicts) {
    let Some(wiring) = cx.wiring else { return };
    for cable in &wiring.cables {
        let s = say(format!("{} conductors in a cable of {} cores", cable.used, cable.cores))
            .on_tag(&cable.tag)
            .found(f64::from(cable.used), "cores")
            .against(f64::from(cable.cores))
            .margin(f64::from(cable.cores) - f64::from(cable.used));
        if cable.used > cable.cores {
            out.fail(s);
        } else {
            out.pass(say("every cable has its cores").on_tag(&cable.tag));
        }
    }
}

fn ways(cx: &Context, out: &mut Verdicts) {
    let Some(wiring) = cx.wiring else { return };
    let boxes: Vec<_> = cx.of("wiring centre");
    let [part] = boxes.as_slice() else { return };
    let Some(has) = cx.number(*part, "terminals") else { return };
    let used: usize = wiring.of_kind(DeviceKind::WiringCentre).map(|d| d.terminals.len()).sum();
    let s = say(format!("{used} ways in use, the box has {}", has.value))
        .on(cx, *part)
        .found(used as f64, "ways")
        .against(has.value)
        .margin(has.value - used as f64)
        .at(&has.span);
    if used as f64 > has.value {
        out.fail(s.assumed(has.assumed));
    } else {
        out.pass(s.assumed(has.assumed));
    }
}

fn heat(cx: &Context, out: &mut Verdicts) {
    let Some(wiring) = cx.wiring else { return };
    let mut sound = true;
    for fault in cx.wire_faults().iter().filter(|f| f.rule == "S14") {
        sound = false;
        let tags = fault.parts.iter().map(|p| wiring.tag_of(crate::wire::netlist::device_of(p)));
        out.fail(tags.fold(say(fault.what.clone()), |s, t| s.on_tag(t)));
    }
    if sound && !wiring.cables.is_empty() {
        out.pass(say("hot parts have heat-resistant flex"));
    }
}
