//! Arrangements between the source and its users. In: the primary flow, coils, zones. Out: two-port
//! valves on one header, or a three-port valve that parts hot water from heating, with a buffer or
//! a low-loss header where the file names one. A three-port valve rests in some way that stays
//! open: it is never the coil's safety shut-off, so the coil keeps its own two-port valve.

use super::boost;
use super::circuit::{Branch, Rung, User, fan_out};
use super::ends::cap;
use super::given::number;
use super::net::{Line, Net};
use super::source::{self, Heat};
use super::survey::{Survey, word};
use crate::describe::facts::EquipmentFacts;
use crate::model::{PartIx, PortRef, Service};

/// The three-port valves, as kinds: the port of heating, the port of hot water.
const DIVERTER: (&str, &str, &str) = ("three-port diverter", "rest", "driven");
const MID_POSITION: (&str, &str, &str) = ("mid-position valve", "heating", "hot water");

pub fn arrange<'a>(
    net: &mut Net,
    survey: &Survey,
    heat: &mut Heat,
    mut flow: Line,
    coils: Vec<Rung<'a>>,
    zones: Vec<Rung<'a>>,
    users: &mut Vec<User>,
) -> Option<Line> {
    let unit = heat.unit;
    if let Some(facts) = header(survey) {
        return separated(net, survey, heat, flow, facts, (coils, zones), users);
    }
    let hot: Vec<Branch> = match coils.len() {
        0 => Vec::new(),
        1 => coils.into_iter().map(Branch::One).collect(),
        _ => vec![Branch::Coils(coils)],
    };
    let has_zones = !zones.is_empty();
    let valve = three_port(survey).filter(|_| !hot.is_empty() && has_zones);
    let Some((kind, to_heating, to_hot)) = valve else {
        let mut branches = hot;
        let mut zones = zones;
        if let Some(facts) = buffer(survey)
            && has_zones
        {
            let (name, enter, leave) = buffered(net, survey, heat, facts, &mut flow, zones, users);
            zones = Vec::new();
            match (enter, leave) {
                (Some(enter), Some(leave)) => branches.push(Branch::Through(name, enter, leave)),
                // A buffer of two or three pipes takes the end of the line itself.
                _ => return coil_before(net, survey, heat, branches, users),
            }
        }
        branches.extend(zones.into_iter().map(Branch::One));
        return fan_out(net, survey, unit, &mut flow, branches, "primary return", users);
    };
    let before = net.parts.len();
    let three = net.add(kind, kind);
    if let Some(facts) = survey.equipment(&[kind]).next() {
        let a = super::given::attrs(&facts.properties, net.part(three).kind);
        net.part_mut(three).attrs = a;
        net.part_mut(three).span = facts.span.clone();
    }
    source::into_unit(net, before, unit);
    let common = net.port(three, "common");
    net.end(&mut flow, common);
    let at = net.port(three, to_hot);
    let mut hot_line = net.line("hot water side flow", Service::HeatingFlow, at);
    let hot_back = fan_out(net, survey, unit, &mut hot_line, hot, "hot water side return", users)?;
    let at = net.port(three, to_heating);
    let mut space = net.line("heating side flow", Service::HeatingFlow, at);
    let space_back = match buffer(survey) {
        Some(facts) => {
            let (name, enter, leave) = buffered(net, survey, heat, facts, &mut space, zones, users);
            match (enter, leave) {
                (Some(enter), Some(leave)) => {
                    net.end(&mut space, enter);
                    net.line(&format!("{name} return"), Service::HeatingReturn, leave)
                }
                _ => heat.open_return.take()?,
            }
        }
        None => {
            // One zone behind a mid-position valve needs no valve of its own.
            let alone = zones.len() == 1;
            let zones = zones.into_iter().map(|mut z| {
                z.always_open |= alone;
                Branch::One(z)
            });
            fan_out(net, survey, unit, &mut space, zones.collect(), "heating side return", users)?
        }
    };
    // The hot water's return joins nearest the source.
    let mut line = space_back;
    let before = net.parts.len();
    let tee = net.add("tee", "hot water side return tee");
    source::into_unit(net, before, unit);
    let a = net.port(tee, "a");
    net.end(&mut line, a);
    let mut hot_back = hot_back;
    let branch = net.port(tee, "branch");
    net.end(&mut hot_back, branch);
    let b = net.port(tee, "b");
    Some(net.line("primary return", Service::HeatingReturn, b))
}

/// Coils on the header before a buffer that sits in the line.
fn coil_before(
    net: &mut Net,
    survey: &Survey,
    heat: &mut Heat,
    hot: Vec<Branch>,
    users: &mut Vec<User>,
) -> Option<Line> {
    let mut line = heat.open_return.take()?;
    if hot.is_empty() {
        return Some(line);
    }
    // The tee for the coil was left in the line by `buffered`.
    let at = heat.open_branch.take()?;
    let mut coil = net.line("hot water side flow", Service::HeatingFlow, at);
    let mut back = fan_out(net, survey, heat.unit, &mut coil, hot, "hot water side return", users)?;
    let branch = net.tee(&mut line, "hot water side return tee", None);
    net.end(&mut back, branch);
    Some(line)
}

fn three_port(survey: &Survey) -> Option<(&'static str, &'static str, &'static str)> {
    let said = |what: &str| {
        survey.controls.iter().any(|c| {
            word(c) == "controls"
                && super::given::text(&c.properties, "valves")
                    .is_some_and(|v| v.value.to_lowercase().replace('-', " ").contains(what))
        })
    };
    if survey.has(&[MID_POSITION.0]) || said("mid position") {
        return Some(MID_POSITION);
    }
    (survey.has(&[DIVERTER.0]) || said("diverter")).then_some(DIVERTER)
}

pub fn buffer<'a>(survey: &Survey<'a>) -> Option<&'a EquipmentFacts> {
    survey.equipment(&["buffer"]).next()
}

pub fn header<'a>(survey: &Survey<'a>) -> Option<&'a EquipmentFacts> {
    survey.equipment(&["low-loss header"]).next()
}

/// Pipes on the buffer: 4 unless the file says 2 or 3.
fn pipes(facts: &EquipmentFacts) -> u32 {
    match number(&facts.properties, "pipes").map(|v| v.value) {
        Some(n) if n <= 2.0 => 2,
        Some(n) if n <= 3.0 => 3,
        _ => 4,
    }
}

/// True where water can pass through a buffer or header with every zone shut.
pub fn always_open(survey: &Survey) -> bool {
    header(survey).is_some()
        || (!survey.zones.is_empty() && buffer(survey).is_some() && three_port(survey).is_none())
}

/// The buffer and the zones behind it. With four pipes: its name, way in and way out, for the
/// caller to join. With two or three it joins itself and leaves its return in the heat.
fn buffered(
    net: &mut Net,
    survey: &Survey,
    heat: &mut Heat,
    facts: &EquipmentFacts,
    flow: &mut Line,
    zones: Vec<Rung>,
    users: &mut Vec<User>,
) -> (String, Option<PortRef>, Option<PortRef>) {
    let ix = boost::item(net, facts, "buffer", "buffer");
    if facts.place.elsewhere.is_none() {
        net.part_mut(ix).place.elsewhere = None;
    }
    let mut a = std::mem::take(&mut net.part_mut(ix).attrs);
    net.ledger.fill(&mut a, "litres", "buffer", 50.0, "l", "common practice: 50 l; read the plate");
    net.part_mut(ix).attrs = a;
    let name = net.short(ix);
    let port = |net: &Net, p: &str| net.port(ix, p);
    let zones: Vec<Branch> = zones.into_iter().map(Branch::One).collect();
    let unit = heat.unit;
    let behind = |net: &mut Net, line: &mut Line, users: &mut Vec<User>| {
        let pump = net.add("pump", "space heating pump");
        source::pump_attrs(net, survey, pump);
        net.through(line, pump);
        fan_out(net, survey, unit, line, zones, "heating return", users)
    };
    if pipes(facts) == 4 {
        let from = port(net, "secondary flow");
        let mut line = net.line("heating flow", Service::HeatingFlow, from);
        if let Some(mut back) = behind(net, &mut line, users) {
            let to = port(net, "secondary return");
            net.end(&mut back, to);
        }
        let (enter, leave) = (port(net, "primary flow"), port(net, "primary return"));
        return (name, Some(enter), Some(leave));
    }
    // A coil without a three-port valve takes its share before the buffer.
    if three_port(survey).is_none() && heat.has_coil {
        heat.open_branch = Some(net.tee(flow, "hot water flow tee", None));
    }
    let at = net.tee(flow, "buffer flow tee", None);
    let mut into = net.line("buffer flow", Service::HeatingFlow, at);
    let to = port(net, "primary flow");
    net.end(&mut into, to);
    let mut line = net.line("heating flow", Service::HeatingFlow, flow.at);
    let Some(mut back) = behind(net, &mut line, users) else { return (name, None, None) };
    if pipes(facts) == 3 {
        // All that comes back passes through the buffer.
        let to = port(net, "secondary return");
        net.end(&mut back, to);
        let from = port(net, "primary return");
        heat.open_return = Some(net.line("primary return", Service::HeatingReturn, from));
        let end = port(net, "secondary flow");
        cap(net, end);
    } else {
        let from = port(net, "primary return");
        let mut out = net.line("buffer return", Service::HeatingReturn, from);
        let at = net.tee(&mut back, "buffer return tee", None);
        net.end(&mut out, at);
        heat.open_return = Some(back);
        for end in ["secondary flow", "secondary return"] {
            let end = port(net, end);
            cap(net, end);
        }
    }
    (name, None, None)
}

/// Source, low-loss header, and behind it each user with a pump of its own.
fn separated<'a>(
    net: &mut Net,
    survey: &Survey,
    heat: &mut Heat,
    mut flow: Line,
    facts: &EquipmentFacts,
    (coils, zones): (Vec<Rung<'a>>, Vec<Rung<'a>>),
    users: &mut Vec<User>,
) -> Option<Line> {
    let ix: PartIx = boost::item(net, facts, "low-loss header", "header");
    if facts.place.elsewhere.is_none() {
        net.part_mut(ix).place.elsewhere = None;
    }
    let to = net.port(ix, "primary flow");
    net.end(&mut flow, to);
    let from = net.port(ix, "secondary flow");
    let mut line = net.line("header flow", Service::HeatingFlow, from);
    let mut branches: Vec<Branch> = Vec::new();
    for mut rung in coils.into_iter().chain(zones) {
        rung.pump = Some(format!("{} pump", rung.user.name));
        branches.push(Branch::One(rung));
    }
    let mut back = fan_out(net, survey, heat.unit, &mut line, branches, "header return", users)?;
    let to = net.port(ix, "secondary return");
    net.end(&mut back, to);
    let from = net.port(ix, "primary return");
    Some(net.line("primary return", Service::HeatingReturn, from))
}
