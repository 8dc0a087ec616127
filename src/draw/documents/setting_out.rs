//! The setting-out table: what must be where before plaster. In: the cupboard plan. Out: sheets.

use super::words::called;
use crate::draw::frame::TitleData;
use crate::draw::scene::{Paper, Sheet};
use crate::draw::tables::{Flow, figures, words};
use crate::layout::cupboard::plan::{CupboardPlan, Owner};
use crate::model::System;

pub fn setting_out(system: &System, plan: &CupboardPlan, data: &TitleData) -> Vec<Sheet> {
    let mut flow = Flow::new("setting-out", "Setting-out table", Paper::A4_PORTRAIT, data);
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
    heights(&mut flow, plan);
    tails(&mut flow, system, plan);
    fixings(&mut flow, system, plan);
    flow.finish()
}

fn heights(flow: &mut Flow, plan: &CupboardPlan) {
    if plan.heights.is_empty() {
        return;
    }
    flow.heading("Heights chain of the safety discharge");
    let rows: Vec<Vec<String>> = plan
        .heights
        .iter()
        .map(|l| {
            vec![
                l.what.clone(),
                format!("{:.0}", l.z),
                format!("{:.0}", l.drop),
                format!("{:.0}", l.slack),
                l.mend.clone(),
            ]
        })
        .collect();
    let columns = [
        words("Link", 60.0),
        figures("z", 16.0),
        figures("Takes", 16.0),
        figures("Slack", 16.0),
        words("If it is short", 60.0),
    ];
    flow.table(&columns, &rows);
}

fn tails(flow: &mut Flow, system: &System, plan: &CupboardPlan) {
    flow.heading("Tails and holes");
    let mut rows: Vec<(f64, f64, Vec<String>)> = plan
        .routes
        .iter()
        .filter_map(|r| r.exit.as_ref().map(|e| (r, e)))
        .map(|(r, e)| {
            let pipe = system.pipe(r.pipe);
            let tail = pipe.tail.as_ref().map_or("", |t| t.name.as_str());
            let size = pipe.size.as_ref().map_or("", |s| s.value.as_str());
            let row = vec![
                pipe.id.clone(),
                format!("{} {tail}", pipe.service.letters()).trim().to_owned(),
                size.to_owned(),
                e.side.key().to_owned(),
                format!("{:.0}", e.at.x),
                format!("{:.0}", e.at.y),
                format!("{:.0}", e.at.z),
                format!("{:.0}", e.core),
            ];
            (e.at.z, e.at.x, row)
        })
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let rows: Vec<Vec<String>> = rows.into_iter().map(|r| r.2).collect();
    let columns = [
        words("Pipe", 16.0),
        words("Service", 38.0),
        words("Size", 18.0),
        words("Through", 22.0),
        figures("x", 18.0),
        figures("y", 18.0),
        figures("z", 18.0),
        figures("Hole Ø", 18.0),
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
            let mut row = vec![what, format!("{:.0} × {:.0} × {:.0}", b.w, b.d, b.h)];
            row.extend(middle.map(|v| format!("{v:.0}")));
            row.push(s.fixed_to.key().to_owned());
            (middle[2], middle[0], row)
        })
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let rows: Vec<Vec<String>> = rows.into_iter().map(|r| r.2).collect();
    let columns = [
        words("Part", 70.0),
        words("Size w × d × h", 36.0),
        figures("x", 16.0),
        figures("y", 16.0),
        figures("z", 16.0),
        words("Fixed to", 20.0),
    ];
    flow.table(&columns, &rows);
}
