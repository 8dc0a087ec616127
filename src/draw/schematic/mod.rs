//! The schematic sheet. In: the sized system and the plan. Out: marks on paper, in painting order:
//! unit outlines, pipes (the less important first), arrows, symbols, words, lists.

mod legend;

use super::scene::{Anchor, Group, Ink, Item, Mark, Paper, Seg, Shape, Sheet, Stroke, Words};
use super::style::{pen, width};
use super::symbols;
use crate::layout::schematic::{
    About, Arrow, HEIGHT, Jump, Label, PITCH, Page, SchematicPlan, Sheet as Size, UnitFrame, lists,
};
use crate::model::{P2, PartIx, PipeIx, Rect, System};
use crate::size::Sized;

/// Radius of a jump, mm.
const HOP: f64 = 1.25;

/// The schematic as sheets, not yet dressed in frame and title block.
pub fn sheets(_: &Sized, plan: &SchematicPlan) -> Vec<Sheet> {
    plan.pages.iter().map(sheet).collect()
}

fn sheet(plan: &Page) -> Sheet {
    let system = &plan.system;
    let layer = |name: &'static str, items: Vec<Item>| -> Item {
        Group { mark: Mark::Layer(name), title: None, items }.into()
    };
    let items = vec![
        layer("units", unit_frames(system, &plan.frames)),
        layer("pipes", pipes(system, plan)),
        layer("arrows", plan.arrows.iter().map(|a| arrow(system, a)).collect()),
        layer("parts", parts(system, plan)),
        layer("labels", plan.labels.iter().flat_map(|l| label(system, l)).collect()),
        layer("lists", legend::draw(&lists(system, plan.sheet, plan.assumed_listed))),
    ];
    Sheet {
        key: plan.key.clone(),
        title: plan.title.clone(),
        description: description(system),
        paper: match plan.sheet {
            Size::A4Upright => Paper::A4_PORTRAIT,
            Size::A4Across => Paper::A4_LANDSCAPE,
            Size::A3 => Paper::A3,
            Size::A2 => Paper::A2,
            Size::A1 => Paper { name: "A1", w: 841.0, h: 594.0 },
            Size::A0 => Paper { name: "A0", w: 1189.0, h: 841.0 },
            Size::Roll(w, h) => Paper { name: "roll", w: f64::from(w), h: f64::from(h) },
        },
        scale: None,
        items,
    }
}

fn description(system: &System) -> String {
    let parts = system.parts.iter().filter(|p| p.kind.key != "tee").count();
    let services: Vec<&str> = system.services().iter().map(|s| s.words()).collect();
    format!(
        "Schematic, not to scale: {parts} parts joined by {} pipes, which carry {}.",
        system.pipes.len(),
        services.join("; ")
    )
}

fn unit_frames(system: &System, frames: &[UnitFrame]) -> Vec<Item> {
    let mut items = Vec::new();
    for frame in frames {
        let unit = system.unit(frame.unit);
        let dash = || Stroke::dashed(width::THIN, &[6.0, 1.0, 1.0, 1.0, 1.0, 1.0], Ink::BLACK);
        let edges = frame.edges.iter().map(|edge| Shape::line(edge, dash()).into());
        items.push(
            Group {
                mark: Mark::Of(unit.tag.clone()),
                title: Some(unit.kind.words.clone()),
                items: edges.collect(),
            }
            .into(),
        );
    }
    items
}

fn end_name(system: &System, port: crate::model::PortRef) -> String {
    system.port_name(port)
}

fn pipes(system: &System, plan: &Page) -> Vec<Item> {
    let mut order: Vec<PipeIx> = system.pipe_ixs().collect();
    order.sort_by_key(|ix| {
        let rank = crate::layout::schematic::rank(system.pipe(*ix).service);
        (std::cmp::Reverse(rank), *ix)
    });
    let mut items: Vec<Item> = Vec::new();
    for ix in order {
        let pipe = system.pipe(ix);
        let points = &plan.pipes[ix.0];
        if points.len() < 2 {
            continue;
        }
        let mark = Mark::Pipe {
            id: pipe.id.clone(),
            service: pipe.service.key(),
            size: pipe.size.as_ref().map(|s| s.value.clone()).unwrap_or_default(),
            from: end_name(system, pipe.from),
            to: end_name(system, pipe.to),
            real: None,
        };
        items.push(Shape::line(points, pen(pipe.service)).mark(mark).into());
        for jump in plan.jumps.iter().filter(|j| j.pipe == ix) {
            items.extend(hop(system, jump));
        }
    }
    items
}

/// White under the crossing, a half circle over it.
fn hop(system: &System, jump: &Jump) -> [Item; 2] {
    let pipe = system.pipe(jump.pipe);
    let mut stroke = pen(pipe.service);
    let (a, b) = if jump.horizontal {
        (P2::new(jump.at.x - HOP, jump.at.y), P2::new(jump.at.x + HOP, jump.at.y))
    } else {
        (P2::new(jump.at.x, jump.at.y + HOP), P2::new(jump.at.x, jump.at.y - HOP))
    };
    let white = Stroke::solid(stroke.width + 0.5, Ink::WHITE);
    stroke.dash.clear();
    let arc = Shape {
        path: vec![Seg::Move(a), Seg::Arc { radius: HOP, large: false, clockwise: true, to: b }],
        stroke: Some(stroke),
        ..Shape::default()
    };
    let of = || Mark::Of(pipe.id.clone());
    [Shape::line(&[a, b], white).mark(of()).into(), arc.mark(of()).into()]
}

fn arrow(system: &System, arrow: &Arrow) -> Item {
    let pipe = system.pipe(arrow.pipe);
    let (l, h) = (arrow.length / 2.0, arrow.length / 3.0);
    let (dx, dy) = match arrow.direction as i64 {
        0 => (1.0, 0.0),
        90 => (0.0, 1.0),
        180 => (-1.0, 0.0),
        _ => (0.0, -1.0),
    };
    let at = |along: f64, across: f64| {
        P2::new(arrow.at.x + dx * along - dy * across, arrow.at.y + dy * along + dx * across)
    };
    let tip = [at(l, 0.0), at(-l, h), at(-l, -h)];
    Shape::polygon(&tip, None, Some(pen(pipe.service).ink))
        .mark(Mark::Arrow { of: pipe.id.clone(), direction: arrow.direction })
        .into()
}

fn parts(system: &System, plan: &Page) -> Vec<Item> {
    let mut items = Vec::new();
    for symbol in &plan.symbols {
        let part = system.part(symbol.part);
        let mut drawn = Vec::new();
        if part.kind.symbol.name == "tee" {
            drawn.extend(arms(system, plan, symbol.part, symbol.at));
        }
        drawn.extend(symbols::draw(part.kind, symbol.at, symbol.pose));
        let words = part.kind.words.clone();
        items.push(
            Group {
                mark: Mark::Part {
                    tag: part.tag.clone(),
                    kind: part.kind.key.clone(),
                    on_paper: symbol.at,
                    real: None,
                },
                title: Some(format!("{}: {words}", part.tag)),
                items: drawn,
            }
            .into(),
        );
    }
    items
}

/// The pipes that meet in a joint, from its edge to its middle, in their own pens.
fn arms(system: &System, plan: &Page, part: PartIx, at: Rect) -> Vec<Item> {
    let centre = at.centre();
    let mut items = Vec::new();
    for ix in system.pipes_of(part) {
        let pipe = system.pipe(ix);
        let points = &plan.pipes[ix.0];
        for (end, point) in [(pipe.from, points.first()), (pipe.to, points.last())] {
            let Some(point) = point.filter(|_| end.part == part) else { continue };
            let mut stroke = pen(pipe.service);
            stroke.dash.clear();
            items.push(
                Shape::line(&[*point, centre], stroke).mark(Mark::Of(pipe.id.clone())).into(),
            );
        }
    }
    items
}

fn label(system: &System, label: &Label) -> Vec<Item> {
    let (of, ink, bold) = match label.about {
        About::Part(ix) => (system.part(ix).tag.clone(), Ink::BLACK, true),
        About::Unit(ix) => (system.unit(ix).tag.clone(), Ink::BLACK, true),
        About::Pipe(ix) => {
            let pipe = system.pipe(ix);
            (pipe.id.clone(), pen(pipe.service).ink, false)
        }
    };
    let mut items: Vec<Item> = Vec::new();
    if let Some([from, to]) = label.leader {
        let thin = Stroke::solid(0.18, Ink::BLACK);
        items.push(Shape::line(&[from, to], thin).mark(Mark::Of(of.clone())).into());
        items.push(
            Shape::circle(to, 0.45, None, Some(Ink::BLACK)).mark(Mark::Of(of.clone())).into(),
        );
    }
    for (i, line) in label.lines.iter().enumerate() {
        let (x, anchor) = match label.lean {
            -1 => (label.at.x, Anchor::Start),
            1 => (label.at.right(), Anchor::End),
            _ => (label.at.centre().x, Anchor::Middle),
        };
        let at = if label.upwards {
            P2::new(label.at.x + HEIGHT, label.at.centre().y)
        } else {
            P2::new(x, label.at.y + HEIGHT + PITCH * i as f64)
        };
        let mut words = Words::new(at, line.clone(), HEIGHT).ink(ink).halo();
        words = words.anchor(if label.upwards { Anchor::Middle } else { anchor });
        if label.upwards {
            words = words.upwards();
        }
        if bold && !label.plain && i == 0 {
            words = words.bold();
        }
        let on_paper = words.on_paper();
        items.push(words.mark(Mark::Label { of: of.clone(), on_paper }).into());
    }
    items
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::frame::{TitleData, title_block};

    /// The lists leave exactly the title block free.
    #[test]
    fn lists_and_title_block_share_the_sheet() {
        let mut facts = crate::describe::read("job \"Gull Flat\"").facts;
        for revisions in 0..6 {
            let system = crate::complete::complete(&facts).system;
            let block = title_block(Paper::A3, &TitleData::of(&system));
            for (at, _) in lists(&system, Size::A3, true).entries {
                assert!(!at.overlaps(&block), "{revisions} revisions: {at:?} {block:?}");
            }
            facts.job.revisions.push(crate::describe::facts::RevisionFacts {
                index: "A".into(),
                date: "2026-11-25".into(),
                note: "moved".into(),
                by: "JM".into(),
            });
        }
    }
}
