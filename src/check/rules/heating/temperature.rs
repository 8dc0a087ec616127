//! Flow temperatures.

use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};

pub const FLOOR: &[Rule] = &[Rule {
    id: "HTG11",
    severity: Severity::Error,
    title: "heated floor without blending and limit",
    what: "A heated floor fed above 50 °C: no blending set, one set too high, or none that is \
           limited.",
    why: "Hot water cracks screed and burns feet.",
    source: "common practice; BS EN 1264, from memory",
    mend: "feed the floor through a blending set with a limit thermostat",
    run: floor,
}];

pub const FLOW: &[Rule] = &[Rule {
    id: "HTG16",
    severity: Severity::Warning,
    title: "new system designed for too hot a flow",
    what: "A wholly new system designed for a flow above 55 °C.",
    why: "Larger emitters now let the boiler condense, and a heat pump take over later.",
    source: "Approved Document L Volume 1, 2021 edition, paragraph 5.10",
    mend: "size the emitters for 55 °C or less",
    run: new_system,
}];

fn floor(cx: &Context, out: &mut Verdicts) {
    let most = cx.limit("HTG11.temperature");
    for floor in cx.of("underfloor circuits") {
        if cx.pipe_on(floor, "flow").is_none() {
            continue;
        }
        let heats = |p| cx.system.part(p).kind.heats;
        let ends = |p| heats(p) || cx.is(p, "blending set") || cx.is(p, "blending valve");
        let up = cx.walk_from(Way::Up, floor, &["flow"], |p| !ends(p));
        let blender = up.parts.iter().copied().find(|p| !heats(*p) && ends(*p));
        if let Some(set) = blender {
            let limited = cx.declares(set, "limit thermostat inside")
                || cx.number(set, "limit").is_some()
                || !cx.of("floor limit thermostat").is_empty();
            let setting = cx.number(set, "setting");
            let s = |title: String| say(title).on(cx, floor).on(cx, set);
            match setting {
                Some(k) if k.value > most.value => out.fail(
                    s(format!("floor fed at {} °C, at most {} °C", k.value, most.value))
                        .found(k.value, "°C")
                        .limit(&most)
                        .margin(most.value - k.value)
                        .assumed(k.assumed)
                        .at(&k.span),
                ),
                _ if !limited => out.fail(
                    s("nothing limits the floor if the blending set fails".to_owned())
                        .assumed(cx.added(set)),
                ),
                Some(k) => out.pass(
                    s(format!("floor fed at {} °C, at most {} °C", k.value, most.value))
                        .found(k.value, "°C")
                        .limit(&most)
                        .margin(most.value - k.value),
                ),
                None => out.pass(s("floor fed through a blending set with a limit".to_owned())),
            }
            continue;
        }
        let Some(source) = up.parts.iter().copied().find(|p| heats(*p)) else { continue };
        let Some(flow) = cx.number(source, "flow") else {
            out.fail(
                say("floor fed unblended from a source of unknown temperature")
                    .on(cx, floor)
                    .on(cx, source)
                    .limit(&most)
                    .assumed(cx.is(source, "heat pump")),
            );
            continue;
        };
        let s = say(format!("floor fed unblended at {} °C, at most {} °C", flow.value, most.value))
            .on(cx, floor)
            .on(cx, source)
            .found(flow.value, "°C")
            .limit(&most)
            .margin(most.value - flow.value)
            .at(&flow.span);
        out.judge(flow.value > most.value, s, flow.assumed);
    }
}

fn new_system(cx: &Context, out: &mut Verdicts) {
    let most = cx.limit("HTG16.flow");
    if !["whole-new-system", "new-system", "new-dwelling"].iter().any(|k| cx.dwelling_flag(k)) {
        return;
    }
    for source in cx.sources() {
        let Some(flow) = cx.number(source, "flow") else { continue };
        if cx.emitters().is_empty() {
            continue;
        }
        let s = say(format!("designed for {} °C flow, at most {} °C", flow.value, most.value))
            .on(cx, source)
            .found(flow.value, "°C")
            .limit(&most)
            .margin(most.value - flow.value)
            .at(&flow.span);
        out.judge(flow.value > most.value, s, flow.assumed);
    }
}
