//! A section in the white of another view's sheet. In: the section, the view, what of its sheet is
//! free. Out: the section drawn at the scale of the sheet or a smaller one, if there is room.

use super::arrange::{DIMENSIONS, Free, HEADING, READABLE, Wish, foot_of};
use super::elevation::{Wanted, above_of, draw};
use super::labels::{Beside, beyond};
use super::lists::unseen;
use super::section::{outlined, seen};
use super::view::{Projection, View};
use crate::draw::scene::{Group, Item, Mark, Words};
use crate::draw::style::letters;
use crate::layout::cupboard::plan::CupboardPlan;
use crate::model::P2;
use crate::size::Sized;

/// Room at the right of the section for labels: the better first.
const RIGHTS: [f64; 3] = [46.0, 36.0, 26.0];
/// A section whose labels stand farther off on average reads better on a sheet of its own, mm.
const CROWDED: f64 = 14.0;

/// A section that stands so little higher or lower than its host is brought to its level, mm.
const LEVEL: f64 = 4.5;

/// A view that stands on another's sheet.
pub struct Guest {
    pub key: String,
    pub drawn: Item,
    /// True where outlines stand for what lies before its plane.
    pub ghosts: bool,
    /// True where it does not stand level with a view of the same height.
    pub uneven: bool,
    /// What it takes of the paper.
    pub size: (f64, f64),
}

/// The section beside `host`, or nothing where it has no room.
pub fn hosted(
    sized: &Sized,
    plan: &CupboardPlan,
    wanted: &Wanted,
    host: &View,
    free: &mut Free,
) -> Option<Guest> {
    let section = wanted.section?;
    let system = &sized.system;
    let scale = host.scale.max(f64::from(READABLE));
    let room = section.room(&plan.room);
    let (w, h) = wanted.projection.extent(&room);
    let (w, h) = (w / scale, h / scale);
    let over = above_of(wanted.projection, plan) / scale;
    let high = HEADING + over + h + foot_of(wanted.projection);
    let mut left = free.clone();
    let (at, right) = RIGHTS.into_iter().find_map(|right| {
        let wide = DIMENSIONS + w + right;
        Some((left.take(wide, high, Wish::Beside)?, right))
    })?;
    let mut corner = P2::new(at.x + DIMENSIONS, at.y + HEADING + over);
    // Heights are read across from one view to the other.
    let alike = scale == host.scale && host.projection != Projection::Plan;
    if alike && (corner.y - host.outline().y).abs() < LEVEL {
        corner.y = host.outline().y;
    }
    let mut view = View::new(wanted.projection, scale, room, corner);
    view.section = Some(section);
    let ghosts = outlined(system, plan, &section);
    let o = view.outline();
    let margin =
        Beside { foot: o.bottom(), right: right - 1.0, left: 0.0, top: false, marks: Vec::new() };
    let drawn = draw(sized, &seen(system, plan, &section), &view, &ghosts, &margin);
    if drawn.cost > CROWDED {
        return None;
    }
    let named = if scale == host.scale { String::new() } else { format!(", 1:{scale:.0}") };
    let heading = format!("{}{named}, {}", wanted.heading, wanted.projection.words());
    let at_heading = P2::new(o.x, o.y - 4.0 - over);
    let mut items: Vec<Item> =
        vec![Words::new(at_heading, heading, letters::HEADING).bold().into()];
    items.extend(drawn.items);
    let title = format!("Not seen in section {}", section.name());
    let hidden = unseen(&drawn.hidden, &title, beyond(&view), &mut left);
    items.extend(hidden.into_iter().flatten());
    *free = left;
    let mark = Mark::View { scale: scale as u32 };
    Some(Guest {
        key: wanted.key.clone(),
        drawn: Group { mark, title: Some(wanted.heading.clone()), items }.into(),
        ghosts: !ghosts.is_empty(),
        uneven: alike && corner.y != host.outline().y,
        size: (at.w, at.h),
    })
}
