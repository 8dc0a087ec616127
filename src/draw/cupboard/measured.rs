//! What a scaled view dimensions, and from where. In: the plan, a view, its runs. Out: running
//! dimensions with the names of their datums.

use super::dimension::{Feature, Rows, Worth, along_the_bottom, up_the_left};
use super::pipework::{LABELLED, Run};
use super::view::{Projection, View, along};
use crate::draw::scene::{Anchor, Item, Words};
use crate::draw::style::letters;
use crate::layout::cupboard::plan::{CupboardPlan, Form};
use crate::model::{P2, P3, Side};

/// What is dimensioned, across and up: centre lines of pipes along their runs, axes of bodies.
pub fn features(plan: &CupboardPlan, view: &View, runs: &[Run]) -> (Vec<Feature>, Vec<Feature>) {
    let (across, up) = view.projection.axes();
    let (mut across_of, mut heights) = (Vec::new(), Vec::new());
    let mut feature = |p: P3, axis: char, worth: Worth| {
        let (paper, real) = (view.point(p), along(axis, p));
        if axis == across {
            across_of.push(Feature { real, paper: paper.x, worth });
        } else {
            heights.push(Feature { real, paper: paper.y, worth });
        }
    };
    let room = plan.room;
    // What is broken off has no far wall.
    if view.room.w >= room.w {
        feature(P3::new(room.w, room.d, room.h), across, Worth::Drilled);
    }
    feature(P3::new(room.w, room.d, room.h), up, Worth::Drilled);
    for run in runs.iter().filter(|r| r.real_length() > LABELLED) {
        feature(run.real_from, if run.upright() { across } else { up }, Worth::Pipe);
    }
    // Every hole by both its coordinates in its wall, as far as the view shows them.
    for exit in plan.routes.iter().filter_map(|r| r.exit.as_ref()) {
        let into = match exit.side {
            Side::Left | Side::Right => 'x',
            Side::Back => 'y',
            _ => 'z',
        };
        for axis in [across, up].into_iter().filter(|axis| *axis != into) {
            feature(exit.at, axis, Worth::Drilled);
        }
    }
    for solid in plan.solids.iter().filter(|s| {
        matches!(s.form, Form::Upright | Form::Domed | Form::Lying) || s.at.w * s.at.h > 6000.0
    }) {
        let b = solid.at;
        let middle = b.middle();
        feature(middle, across, Worth::Body);
        if solid.form == Form::Box || solid.form == Form::Domed {
            feature(middle, up, Worth::Body);
        } else {
            feature(P3::new(middle.x, middle.y, b.z + b.h), up, Worth::Body);
        }
    }
    (across_of, heights)
}

/// Running dimensions; `off` is how deep labels stand between the view and the heights.
pub fn dimensions(
    view: &View,
    off: f64,
    across_of: Vec<Feature>,
    heights: Vec<Feature>,
) -> Vec<Item> {
    let (o, (across, up)) = (view.outline(), view.projection.axes());
    let mut items = Vec::new();
    // Below the plan stand the marks of the sections, below a left wall the name of the datum.
    let rows = match view.projection {
        Projection::Front | Projection::Right => Rows::Two,
        Projection::Plan | Projection::Left => Rows::One,
    };
    // Drawings that start at the far side still measure from the datum.
    let origin = view.point(P3::new(0.0, 0.0, 0.0));
    let (left, _) = up_the_left(o.x, off, origin.y, up, heights);
    let (bottom, _) = along_the_bottom(o.bottom(), origin.x, across, across_of, rows);
    items.extend(left);
    items.extend(bottom);
    items.extend(datum_words(view, off));
    items
}

/// What the two dimension lines measure from, in words.
pub fn datum_words(view: &View, off: f64) -> Vec<Item> {
    let o = view.outline();
    let datum = |x: f64, y: f64, anchor: Anchor, text: &str| -> Item {
        Words::new(P2::new(x, y), text, letters::SMALL).anchor(anchor).bold().into()
    };
    let foot = o.bottom() + 8.0;
    let left_of = |y: f64, text: &str| datum(o.x - 6.0, y, Anchor::End, text);
    let ffl = || datum(o.x - 6.0 - off, foot - 4.0, Anchor::End, "FFL");
    match view.projection {
        Projection::Front => vec![left_of(foot, "LEFT WALL"), ffl()],
        Projection::Plan => {
            vec![
                left_of(foot, "LEFT WALL"),
                datum(o.x - 5.5 - off, o.y - 2.5, Anchor::End, "BACK WALL"),
            ]
        }
        Projection::Right => vec![left_of(foot, "BACK WALL"), ffl()],
        // Seen from inside, the back wall stands at the right.
        Projection::Left => {
            vec![datum(o.right() + 1.5, o.bottom() + 17.8, Anchor::End, "BACK WALL"), ffl()]
        }
    }
}
