//! The valve that a cut-out shuts to stop the primary flow.

use crate::catalogue::Closes;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::store::{Coil, Store};
use crate::check::{Context, Severity, Way};
use crate::model::PartIx;

pub const SHUT_OFF: &[Rule] = &[Rule {
    id: "SAF03",
    severity: Severity::Error,
    title: "coil that its cut-out can't shut off",
    what: "A coil of an unvented store with a way from its source that no spring-return motor \
           valve can close.",
    why: "An open cut-out can stop a boiler's call but not the water that is already hot, nor \
          another zone's call.",
    source: "Approved Document G, section 3, from memory",
    mend: "add a spring-return two-port valve on the coil's flow, wired through the cut-out",
    run: shut_off,
}];

pub const DIVERTER: &[Rule] = &[Rule {
    id: "SAF11",
    severity: Severity::Error,
    title: "diverter as the only shut-off of a coil",
    what: "A three-port valve is all that stands between the source and the coil.",
    why: "It stays where it was when the power fails, and may leave the coil open.",
    source: "Approved Document G, section 3, from memory",
    mend: "add a spring-return two-port valve on the coil's flow, wired through the cut-out",
    run: diverter,
}];

pub const RETURN: &[Rule] = &[Rule {
    id: "SAF13",
    severity: Severity::Warning,
    title: "coil's motor valve on the return only",
    what: "The only spring-return valve of a coil stands on its return.",
    why: "On the flow it also stops hot water from rising into the coil by itself.",
    source: "common practice",
    mend: "move the valve to the flow",
    run: on_return,
}];

/// What closes a coil.
#[derive(PartialEq)]
enum Shut {
    Flow,
    Return,
    Diverter,
    Nothing,
}

fn springs_shut(cx: &Context, part: PartIx) -> bool {
    cx.closes(part) == Closes::ByMotor && !cx.text(part, "rest").is_some_and(|r| r.contains("open"))
}

/// What stands in every way between the sources and the coil.
fn judge(cx: &Context, coil: &Coil) -> Shut {
    let heats = |p: PartIx| cx.system.part(p).kind.heats;
    let passes =
        |p: PartIx| !heats(p) && cx.closes(p) != Closes::Lifts && !cx.is(p, "filling loop");
    let reaches = |way: Way, port, blocks: &dyn Fn(PartIx) -> bool| {
        let w = cx.walk(way, [port], |p| passes(p) && !blocks(p));
        w.parts.iter().any(|p| heats(*p))
    };
    let valve = |p: PartIx| springs_shut(cx, p);
    if !reaches(Way::Up, coil.flow, &valve) {
        return Shut::Flow;
    }
    if !reaches(Way::Down, coil.back, &valve) {
        return Shut::Return;
    }
    let three_port = |p: PartIx| springs_shut(cx, p) || cx.closes(p) == Closes::Diverts;
    let inside = coil.sources.iter().any(|s| cx.declares(*s, "internal diverter"));
    if inside || !reaches(Way::Up, coil.flow, &three_port) {
        return Shut::Diverter;
    }
    Shut::Nothing
}

/// The coils the rule speaks of: fed by a source that a valve can help against.
fn coils<'c>(cx: &'c Context) -> impl Iterator<Item = (&'c Store, &'c Coil)> + 'c {
    let stores = cx.stores.iter().filter(|s| s.needs_safety(cx));
    stores.flat_map(|s| s.coils.iter().map(move |c| (s, c))).filter(|(_, c)| {
        let controlled = |p: &PartIx| !cx.is(*p, "uncontrolled source");
        !c.solar && c.sources.iter().any(controlled)
    })
}

fn shut_off(cx: &Context, out: &mut Verdicts) {
    for (store, coil) in coils(cx) {
        match judge(cx, coil) {
            Shut::Nothing => out.fail(
                say("no spring-return valve can stop the flow to the coil")
                    .on(cx, store.cylinder)
                    .on_all(cx, coil.sources.iter().copied()),
            ),
            Shut::Flow => {
                let met = coil.flow_side.parts.iter().copied();
                let valve = met.filter(|p| springs_shut(cx, *p)).take(1);
                out.pass(
                    say("a spring-return valve shuts the coil's flow")
                        .on_all(cx, valve)
                        .on(cx, store.cylinder),
                );
            }
            _ => {}
        }
    }
}

fn diverter(cx: &Context, out: &mut Verdicts) {
    for (store, coil) in coils(cx).filter(|(_, c)| judge(cx, c) == Shut::Diverter) {
        let met = coil.flow_side.parts.iter().copied();
        let diverter = met.filter(|p| cx.closes(*p) == Closes::Diverts).take(1);
        out.fail(
            say("only a three-port valve stands between the source and the coil")
                .on_all(cx, diverter)
                .on(cx, store.cylinder),
        );
    }
}

fn on_return(cx: &Context, out: &mut Verdicts) {
    for (store, coil) in coils(cx).filter(|(_, c)| judge(cx, c) == Shut::Return) {
        let met = coil.return_side.parts.iter().copied();
        let valve = met.filter(|p| springs_shut(cx, *p)).take(1);
        out.fail(
            say("the coil's motor valve stands on the return")
                .on_all(cx, valve)
                .on(cx, store.cylinder),
        );
    }
}
