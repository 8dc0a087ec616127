//! The setting-out table: what must be where before plaster. In: the cupboard plan. Out: sheets.

use super::words::called;
use crate::draw::cupboard::hole_marks;
use crate::draw::frame::TitleData;
use crate::draw::scene::{Paper, Sheet};
use crate::draw::tables::{Flow, figures, words};
use crate::layout::cupboard::noggins::{Noggin, noggins};
use crate::layout::cupboard::plan::{CupboardPlan, Owner};
use crate::model::{System, whole_mm};

pub fn setting_out(system: &System, plan: &CupboardPlan, data: &TitleData) -> Vec<Sheet> {
    let begun = || Flow::new("setting-out", "Setting-out table", Paper::A4_PORTRAIT, data);
    Flow::fewest(begun, |flow| written(flow, system, plan))
}

fn written(flow: &mut Flow, system: &System, plan: &CupboardPlan) {
    flow.paragraph(
        "mm from finished faces: x from the left wall, y from the back wall towards the door, z up \
         from finished floor level (FFL). To centre lines. Tolerance 10 on walls, 5 on ports.",
    );
    if let Some(cupboard) = &system.site.cupboard {
        if cupboard.datum.value == "stud" {
            flow.caution(
                "The cupboard was measured to studs: take off the linings before marking.",
            );
        }
        if let Some(build_up) = cupboard.floor.attrs.number("build-up") {
            flow.paragraph(&format!(
                "FFL = sub-floor + {build_up:.0}: add it to z while the floor is not laid."
            ));
        }
    }
    heights(flow, plan);
    tails(flow, system, plan);
    fixings(flow, system, plan);
    timber(flow, system, plan);
}

fn heights(flow: &mut Flow, plan: &CupboardPlan) {
    for (i, chain) in plan.heights.iter().enumerate() {
        flow.heading(&format!("Heights chain of the safety discharge at {}", chain.tundish));
        if i == 0 {
            flow.paragraph(
                "z: of a run its upper end. Takes: the height a link needs. Slack: what is left \
                 before its limit is broken, where it has one; at the relief of the cylinder of the \
                 length of its pipe to the tundish.",
            );
        }
        let short = chain.links.iter().any(|l| !l.mend.is_empty());
        let rows: Vec<Vec<String>> = chain
            .links
            .iter()
            .map(|l| {
                let takes = if l.drop > 0.0 { whole_mm(l.drop) } else { String::new() };
                let slack = l.slack.map_or(String::new(), whole_mm);
                let mut row = vec![l.what.clone(), whole_mm(l.z), takes, slack];
                row.extend(short.then(|| l.mend.clone()));
                row
            })
            .collect();
        let mut columns = vec![
            words("Link", 60.0),
            figures("z", 16.0),
            figures("Takes", 16.0),
            figures("Slack", 16.0),
        ];
        columns.extend(short.then(|| words("It is short", 60.0)));
        flow.table(&columns, &rows);
    }
}

fn tails(flow: &mut Flow, system: &System, plan: &CupboardPlan) {
    flow.heading("Tails and holes");
    let marks = hole_marks(system, plan);
    let mut rows: Vec<(f64, f64, Vec<String>)> = plan
        .routes
        .iter()
        .filter_map(|r| r.exit.as_ref().map(|e| (r, e)))
        .map(|(r, e)| {
            let pipe = system.pipe(r.pipe);
            let tail = pipe.tail.as_ref().map_or("", |t| t.name.as_str());
            let size = pipe.size.as_ref().map_or("", |s| s.value.as_str());
            let moved = e.moved(pipe);
            let figure = |name: &str, at: f64| match moved.iter().any(|(n, _)| *n == name) {
                true => format!("{} !", whole_mm(at)),
                false => whole_mm(at),
            };
            let stated: Vec<String> =
                moved.iter().map(|(name, v)| format!("{name} {}", whole_mm(*v))).collect();
            let row = vec![
                marks.get(&pipe.id).cloned().unwrap_or_else(|| e.side.key().to_owned()),
                format!("{} {tail}", pipe.service.letters()).trim().to_owned(),
                size.to_owned(),
                figure("x", e.at.x),
                figure("y", e.at.y),
                figure("z", e.at.z),
                whole_mm(e.core),
                stated.join(", "),
            ];
            (e.at.z, e.at.x, row)
        })
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut rows: Vec<Vec<String>> = rows.into_iter().map(|r| r.2).collect();
    let any_moved = rows.iter().any(|row| row.last().is_some_and(|stated| !stated.is_empty()));
    if any_moved {
        flow.caution(
            "Figures marked ! are NOT as stated: what is stated could not be kept, see the findings. \
             Do not drill by them; measure the tail again.",
        );
    } else {
        rows.iter_mut().for_each(|row| row.truncate(row.len() - 1));
    }
    let mut columns = vec![
        words("Set-out sheet, mark", 34.0),
        words("Service", if any_moved { 30.0 } else { 44.0 }),
        words("Size", 18.0),
        figures("x", 18.0),
        figures("y", 18.0),
        figures("z", 18.0),
        figures("Hole Ø", 18.0),
    ];
    columns.extend(any_moved.then(|| words("Stated", 26.0)));
    flow.table(&columns, &rows);
}

fn timber(flow: &mut Flow, system: &System, plan: &CupboardPlan) {
    let row = |n: Noggin| {
        let span = format!("{} {} to {}", n.axis(), whole_mm(n.from), whole_mm(n.to));
        let size = format!("{} × {:.0}", whole_mm(n.length()), n.deep);
        vec![n.wall.key().to_owned(), span, whole_mm(n.z), size, n.tags.join(", ")]
    };
    let rows: Vec<Vec<String>> = noggins(system, plan).into_iter().map(row).collect();
    if rows.is_empty() {
        return;
    }
    flow.heading("Noggins, in the wall before it is boarded");
    let columns = [
        words("Wall", 24.0),
        words("From, to", 50.0),
        figures("z, middle", 22.0),
        words("Length × depth", 34.0),
        words("For", 40.0),
    ];
    flow.table(&columns, &rows);
}

fn fixings(flow: &mut Flow, system: &System, plan: &CupboardPlan) {
    flow.heading("Parts");
    let mut rows: Vec<(f64, f64, Vec<String>)> = plan
        .solids
        .iter()
        .map(|s| {
            let what = match s.owner {
                Owner::Part(ix) => called(system.part(ix)),
                Owner::Unit(ix) => format!("{} {}", system.unit(ix).tag, system.unit(ix).kind.key),
            };
            let b = s.at;
            let middle = [b.x + b.w / 2.0, b.y + b.d / 2.0, b.z + b.h / 2.0];
            let mut row = vec![what, [b.w, b.d, b.h].map(whole_mm).join(" × ")];
            row.extend(middle.map(whole_mm));
            row.push(s.held.words());
            (middle[2], middle[0], row)
        })
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let rows: Vec<Vec<String>> = rows.into_iter().map(|r| r.2).collect();
    let columns = [
        words("Part", 64.0),
        words("Size w × d × h", 34.0),
        figures("x", 14.0),
        figures("y", 14.0),
        figures("z", 14.0),
        words("Held by", 30.0),
    ];
    flow.table(&columns, &rows);
}
