//! Facts → the full system, the way an expert would fill them in. In: [`Facts`]. Out: the
//! component graph with every value's origin, and what had to be said about the description.
//!
//! One file a subsystem, in the order in which the water meets them. Each adds parts and runs to
//! the [`net`]; what the file insists on ([`explicit`]) wins over all of them; [`finish`] gives
//! tags and puts everything into an order that does not depend on the order of the file.
//! Rules of order come from common practice and from the clauses named beside them.

mod assume;
mod boiler;
mod boost;
mod building;
mod circuit;
mod cold;
mod controls;
mod discharge;
mod ends;
mod explicit;
mod finish;
mod given;
mod hot;
mod named;
mod net;
mod outlets;
mod promote;
mod runs;
mod secondary;
mod site;
mod solar;
mod source;
mod space;
mod store;
mod survey;
mod tails;
mod vessel;
mod zones;

pub use vessel::stock_body;

use crate::describe::facts::Facts;
use crate::diagnostic::Diagnostic;
use crate::model::{PortRef, System};

use net::Net;
use survey::Survey;

/// The completed system and what had to be said on the way.
#[derive(Clone, Debug)]
pub struct Completed {
    pub system: System,
    pub diagnostics: Vec<Diagnostic>,
}

/// Completes the facts. Never fails: what the file lacks gets an expert's default, listed among
/// the assumptions; what contradicts itself is left out and reported.
pub fn complete(facts: &Facts) -> Completed {
    let listed = facts.as_listed || explicit::only_parts(facts);
    let more = (!listed).then(|| promote::parts_as_facts(facts)).flatten();
    let facts = more.as_ref().unwrap_or(facts);
    let more = (!listed).then(|| survey::something_to_heat(facts)).flatten();
    let facts = more.as_ref().unwrap_or(facts);
    let more = (!listed).then(|| building::with_dwelling(facts)).flatten();
    let facts = more.as_ref().unwrap_or(facts);
    let mut net = Net::default();
    net.ledger.first = explicit::last_listed(&facts.assumptions);
    let site = site::site(&mut net, facts, listed);
    if !listed {
        let survey = Survey::of(facts);
        let main = cold::main(&mut net, &survey);
        if facts.buildings.is_empty() {
            dwelling(&mut net, &survey, Feed { from: main, discharge: false });
            named::apply(&mut net, &survey);
        } else {
            building::buildings(&mut net, facts, main);
        }
    }
    let outcome = explicit::apply(&mut net, facts, listed);
    finish::finish(net, facts, site, listed, outcome)
}

/// What a dwelling hangs on.
pub struct Feed {
    /// Where its cold water comes from.
    from: PortRef,
    /// Its discharge joins a common pipe: it is left open at the tundish.
    discharge: bool,
}

/// One dwelling's system; returns the tundish's outlet where the discharge was left open.
fn dwelling(net: &mut Net, survey: &Survey, feed: Feed) -> Option<PortRef> {
    let softened = survey.has(&["softener", "water softener"]);
    let outlets = outlets::outlets(net, survey, softened);
    let stores = store::stores(net, survey);
    let filled = source::needed(survey, &stores);
    let cold = cold::supply(net, survey, &stores, &outlets, feed.from, filled);
    let out = discharge::discharge(net, survey, &stores, cold.relief, feed.discharge);
    hot::distribution(net, survey, &stores, &outlets, cold.balanced);
    let heat = source::source(net, survey, &stores, &cold, outlets.kitchen);
    let source = heat.as_ref().map(|h| h.source);
    let users = heat.map(|h| circuit::circuits(net, survey, &stores, h)).unwrap_or_default();
    solar::solar(net, survey, &stores);
    controls::controls(net, survey, &stores, &users, source);
    out
}

#[cfg(test)]
mod tests;
