//! The long lines of a schematic: flow, return, cold, hot. In: the net. Out: for each, the parts
//! in the order in which the water meets them, from a source to the last user.

use std::collections::{BTreeMap, BTreeSet};

use super::net::Net;
use crate::model::{PartIx, PortRef, Service};

/// A part on a line, and the ports by which the line enters and leaves it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stop {
    pub part: PartIx,
    pub enter: usize,
    pub leave: Option<usize>,
}

/// What a line may pass.
pub type May<'a> = &'a dyn Fn(PartIx) -> bool;

/// Every way from a port along pipes of these services; the straight way through a tee is the
/// near one.
pub struct Reach {
    /// Port of arrival → cost, port left before it.
    came: BTreeMap<PortRef, (u32, Option<PortRef>)>,
}

pub fn reach(net: &Net, from: PortRef, services: &[Service], may: May) -> Reach {
    let mut came: BTreeMap<PortRef, (u32, Option<PortRef>)> = BTreeMap::new();
    let mut open: BTreeSet<(u32, PortRef, Option<PortRef>)> = BTreeSet::new();
    let leave = |port: PortRef, cost: u32, open: &mut BTreeSet<_>, first: bool| {
        let Some((pipe, far)) = net.join(port) else { return };
        if services.contains(&net.service(pipe)) && may(far.part) {
            let branch = net.is_joint(far.part) && far.port == 2;
            let price = 1 + u32::from(branch) * 100;
            open.insert((cost + price, far, (!first).then_some(port)));
        }
    };
    leave(from, 0, &mut open, true);
    while let Some((cost, at, before)) = open.pop_first() {
        if came.contains_key(&at) {
            continue;
        }
        came.insert(at, (cost, before));
        let kind = net.system.part(at.part).kind;
        for port in kind.shares_water(at.port) {
            let branch = net.is_joint(at.part) && port == 2;
            let price = u32::from(branch) * 100;
            leave(PortRef { part: at.part, port }, cost + price, &mut open, false);
        }
    }
    Reach { came }
}

impl Reach {
    pub fn ends(&self) -> impl Iterator<Item = (PortRef, u32)> + '_ {
        self.came.iter().map(|(p, (c, _))| (*p, *c))
    }

    pub fn arrives(&self, at: PortRef) -> bool {
        self.came.contains_key(&at)
    }

    /// The stops of the way to a port, in the direction of the water.
    pub fn way(&self, to: PortRef) -> Vec<Stop> {
        let mut stops = vec![Stop { part: to.part, enter: to.port, leave: None }];
        let mut at = to;
        let mut guard = self.came.len() + 1;
        while let Some((_, Some(left))) = self.came.get(&at) {
            // The part left before `at` was entered by whichever port shares water with it.
            let entered = self
                .came
                .iter()
                .filter(|(p, _)| p.part == left.part && p.port != left.port)
                .min_by_key(|(_, (c, _))| *c)
                .map(|(p, _)| *p);
            let Some(entered) = entered else { break };
            stops.push(Stop { part: left.part, enter: entered.port, leave: Some(left.port) });
            at = entered;
            guard -= 1;
            if guard == 0 {
                break;
            }
        }
        stops.reverse();
        stops
    }
}

/// The services of heating water going out, and coming back.
pub const FLOW: [Service; 1] = [Service::HeatingFlow];
pub const RETURN: [Service; 1] = [Service::HeatingReturn];
pub const COLD: [Service; 5] = [
    Service::ColdMain,
    Service::ColdBoosted,
    Service::ColdSoftened,
    Service::ColdBalanced,
    Service::ColdFeed,
];
pub const HOT: [Service; 2] = [Service::HotWater, Service::HotBlended];

/// The port by which the return leaves the part that this flow port enters.
pub fn way_back(net: &Net, flow: PortRef) -> Option<PortRef> {
    let kind = net.system.part(flow.part).kind;
    kind.shares_water(flow.port)
        .into_iter()
        .map(|port| PortRef { part: flow.part, port })
        .find(|p| net.join(*p).is_some_and(|(pipe, _)| net.service(pipe) == Service::HeatingReturn))
}

/// The last user on a flow line: the one that is reached straightest, rather a zone than a
/// cylinder, and of those the farthest; or the mark by which it goes on on another sheet.
pub fn last_user(net: &Net, reach: &Reach) -> Option<PortRef> {
    reach
        .ends()
        .filter(|(p, _)| {
            net.is_mark(p.part) || (way_back(net, *p).is_some() && !net.stretches(p.part))
        })
        .max_by_key(|(p, cost)| {
            let branches = std::cmp::Reverse(*cost / 100);
            (branches, !net.is_store(p.part), *cost % 100, std::cmp::Reverse(*p))
        })
        .map(|(p, _)| p)
}

/// Parts that hang together without passing what is already in a line, and without climbing a
/// discharge pipe: what falls into a tundish does not belong to the next valve that does.
pub fn component(net: &Net, start: PartIx, taken: &BTreeSet<PartIx>) -> BTreeSet<PartIx> {
    let mut seen = BTreeSet::from([start]);
    let mut open = vec![start];
    while let Some(part) = open.pop() {
        for port in net.joined(part) {
            if let Some((pipe, far)) = net.join(PortRef { part, port })
                && !(net.service(pipe).must_fall() && net.system.pipe(pipe).from == far)
                && !taken.contains(&far.part)
                && seen.insert(far.part)
            {
                open.push(far.part);
            }
        }
    }
    seen
}
