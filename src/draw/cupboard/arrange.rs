//! How a view stands on its sheet: paper, scale and place, and what of the sheet it leaves for
//! lists. In: the room, the projection, the title data. Out: the ways it can stand, what each costs
//! its reader, and free rooms.

use super::labels::{LABELS, LEFT, TOP};
use super::view::{Projection, SCALES, View};
use crate::draw::frame::{TitleData, drawing_space, title_block};
use crate::draw::scene::Paper;
use crate::model::{Box3, P2, Rect};

/// Room beside a view for one row of dimensions, and above it for its heading.
const DIMENSIONS: f64 = 24.0;
const HEADING: f64 = 8.5;
/// The least room at the right of a view for labels, where lists stand below it.
const FEW_LABELS: f64 = 20.0;
/// Width of the lists beside a view.
const LISTS: f64 = 100.0;
/// The smallest scale, as 1 to so much, at which pipes side by side can be told apart.
const READABLE: u32 = 10;
/// What weighs on a way, mm of leader for each label: a scale smaller than that, for each step; a
/// sheet that few can print; one that lies across the others of its set; one that is all white.
const SMALL: f64 = 20.0;
const LARGE: f64 = 1.5;
const UPRIGHT: f64 = 2.5;
const WHITE: f64 = 8.0;

/// Room below a view: a row of dimensions, and below the plan the marks of the sections.
pub fn foot_of(projection: Projection) -> f64 {
    if projection == Projection::Plan { 22.0 } else { 18.0 }
}

/// Room above it: its heading, and above a plan labels.
fn head_of(projection: Projection) -> f64 {
    if projection == Projection::Plan { HEADING + TOP - 4.0 } else { HEADING }
}

/// A paper, a scale, and where the view's outline begins.
#[derive(Clone, Copy, Debug)]
pub struct Way {
    pub paper: Paper,
    pub scale: u32,
    pub at: P2,
    /// True where there is room for labels at its left.
    pub left: bool,
}

impl Way {
    /// What the sheet costs its reader: `label` is the cost of a label on average.
    pub fn cost(&self, view: &View, label: f64, space: Rect, block: Rect) -> f64 {
        let steps = SCALES.iter().filter(|s| **s > READABLE && **s <= self.scale).count();
        let large = if self.paper.w.max(self.paper.h) > 500.0 { LARGE } else { 0.0 };
        let o = view.outline();
        let drawn = (o.w + DIMENSIONS + LEFT + LABELS) * (o.h + foot_of(view.projection) + HEADING);
        let used = (drawn + block.w * block.h + LISTS * o.h.min(160.0)) / (space.w * space.h);
        let upright = if self.paper.h > self.paper.w { UPRIGHT } else { 0.0 };
        label + SMALL * steps as f64 + large + upright + WHITE * (1.0 - used).max(0.0)
    }
}

/// The ways in which a view can stand: on each paper at the largest scale that it takes.
pub fn ways(projection: Projection, room: &Box3, data: &TitleData) -> Vec<Way> {
    let papers = [Paper::A3, Paper::A3_PORTRAIT, Paper::A2];
    let at_scale = |paper: Paper, s: u32| way(projection, room, paper, s, data);
    let mut all: Vec<Way> = papers
        .into_iter()
        .filter_map(|paper| SCALES.into_iter().find_map(|s| at_scale(paper, s)))
        .collect();
    let smallest = SCALES[SCALES.len() - 1];
    if all.is_empty() {
        let space = drawing_space(Paper::A2);
        let at = P2::new(space.x + DIMENSIONS, space.y + head_of(projection));
        all.push(Way { paper: Paper::A2, scale: smallest, at, left: false });
    }
    all
}

fn way(
    projection: Projection,
    room: &Box3,
    paper: Paper,
    scale: u32,
    data: &TitleData,
) -> Option<Way> {
    let real = projection.extent(room);
    let (w, h) = (real.0 / f64::from(scale), real.1 / f64::from(scale));
    let (space, block) = (drawing_space(paper), title_block(paper, data));
    let (head, foot) = (head_of(projection), foot_of(projection));
    let portrait = paper.h > paper.w;
    [LEFT, 0.0].into_iter().find_map(|left| {
        // Left of the title block, where its labels may end above the block; or above it.
        let beside = block.x - space.x - DIMENSIONS - left - w - 2.0;
        let right = if portrait { FEW_LABELS } else { LABELS + 60.0 };
        let over = space.w - DIMENSIONS - left - w - right;
        let high = space.h - head - h - foot;
        let above = block.y - space.y - head - h - foot;
        let flat = projection == Projection::Plan;
        let (spare, lower) = if !portrait && beside >= 0.0 && high >= 0.0 {
            ((beside + 2.0 - LABELS).max(0.0), if flat { 0.6 * high } else { high })
        } else if over >= 0.0 && above >= 0.0 {
            (if portrait { over } else { 0.0 }, if portrait { above.min(8.0) } else { 0.0 })
        } else {
            return None;
        };
        let x = space.x + DIMENSIONS + left + spare / 2.0;
        let at = P2::new(x, space.y + head + lower / 2.0);
        Some(Way { paper, scale, at, left: left > 0.0 })
    })
}

/// White of the sheet, for lists; taken from its corners, so that what is left stays in one piece.
pub struct Free(Vec<Rect>);

/// White kept between lists.
const GAP: f64 = 6.0;

impl Free {
    /// Right of the view and its labels; below it above the title block; below it beside the block.
    pub fn around(view: &View, foot: f64, space: Rect, block: Rect) -> Free {
        let o = view.outline();
        let room = |x: f64, y: f64, right: f64, bottom: f64| Rect::new(x, y, right - x, bottom - y);
        let x = (o.right() + LABELS + 4.0).max(if o.bottom() > block.y { block.x } else { 0.0 });
        let top = space.y + 4.0;
        let (edge, low) = (space.right() - 2.0, o.bottom() + foot + 3.0);
        let portrait = space.h > space.w;
        let left = if portrait { space.x + 6.0 } else { (o.x - DIMENSIONS).max(space.x + 6.0) };
        let mut rooms = vec![room(x, top, edge, block.y - 3.0)];
        if portrait && low < block.y {
            rooms.push(room(left, low, edge, block.y - 3.0));
            rooms.push(room(left, block.y - 3.0 + GAP, block.x - GAP, space.bottom() - 3.0));
        } else {
            if low < block.y {
                // Where the first ends at its left, and no wider than the paper.
                let right = if x + LISTS < edge { x - GAP } else { edge };
                rooms.push(room(block.x.max(left), low, right, block.y - 3.0));
            }
            rooms.push(room(left, low, block.x - GAP, space.bottom() - 3.0));
        }
        rooms.retain(|r| r.w > 0.0 && r.h > 0.0);
        Free(rooms)
    }

    /// A place of that size at the top left of the first room that holds it.
    pub fn take(&mut self, w: f64, h: f64) -> Option<Rect> {
        let i = self.0.iter().position(|r| r.w >= w && r.h >= h)?;
        let r = self.0.remove(i);
        let right = Rect::new(r.x + w + GAP, r.y, r.w - w - GAP, r.h);
        let below = Rect::new(r.x, r.y + h + GAP, r.w, r.h - h - GAP);
        // A wide room is filled along, a high one down.
        let (along, rest) =
            if r.w > r.h { (right, Rect { w, ..below }) } else { (below, Rect { h, ..right }) };
        let rest = [along, rest].into_iter().filter(|r| r.w > 0.0 && r.h > 0.0);
        self.0.splice(i..i, rest);
        Some(Rect::new(r.x, r.y, w, h))
    }

    /// All of the highest room that is so wide.
    pub fn largest(&mut self, w: f64) -> Option<Rect> {
        let wide = |r: &&Rect| r.w >= w;
        let highest = self.0.iter().filter(wide).map(|r| r.h).fold(0.0, f64::max);
        if highest > 0.0 { self.take(w, highest) } else { None }
    }

    pub fn rooms(&self) -> &[Rect] {
        &self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 5457 borders, A3: a cupboard 1900 × 2450 does not stand beside the title block at 1:10,
    /// upright it stands above it; its plan takes 1:5 on A2.
    #[test]
    fn a_wide_cupboard_finds_a_way() {
        let room = Box3 { x: 0.0, y: 0.0, z: 0.0, w: 1900.0, d: 1000.0, h: 2450.0 };
        let found = |projection: Projection| -> Vec<(f64, u32)> {
            let ways = ways(projection, &room, &TitleData::default());
            ways.iter().map(|w| (w.paper.w, w.scale)).collect()
        };
        assert!(found(Projection::Front).contains(&(297.0, 10)));
        assert!(found(Projection::Plan).contains(&(594.0, 5)));
    }

    #[test]
    fn lists_do_not_share_room() {
        let mut free = Free(vec![Rect::new(0.0, 0.0, 100.0, 200.0)]);
        let taken: Vec<Rect> = (0..4).filter_map(|_| free.take(60.0, 50.0)).collect();
        assert_eq!(taken.len(), 3);
        for (i, a) in taken.iter().enumerate() {
            assert!(taken[i + 1..].iter().all(|b| !a.overlaps(b)));
        }
    }
}
