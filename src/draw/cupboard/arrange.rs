//! How a view stands on its sheet: paper, scale and place, and what of the sheet it leaves for
//! lists. In: the room, the projection, the title data. Out: the ways it can stand, what each costs
//! its reader, and free rooms.

use super::labels::{LABELS, LEFT, TOP};
use super::view::{Projection, SCALES, View};
use crate::draw::frame::{TitleData, drawing_space, title_block};
use crate::draw::scene::Paper;
use crate::model::{Box3, P2, Rect};

/// Room beside a view for one row of dimensions, and above it for its heading.
pub const DIMENSIONS: f64 = 24.0;
pub const HEADING: f64 = 8.5;
/// The heading of a plan stands so much higher: beside it the datum has its name.
pub const OVER_DATUM: f64 = 4.5;
/// The least room at the right of a view for labels, where lists stand below it.
const FEW_LABELS: f64 = 27.0;
/// The same of a plan, which has room for them above it too.
const FEWER: f64 = 13.0;
/// Width of the lists beside a view.
const LISTS: f64 = 100.0;
/// The smallest scale, as 1 to so much, at which pipes side by side can be told apart.
pub const READABLE: u32 = 10;
/// What weighs on a way, mm of leader for each label: a scale smaller than that, for each step; one
/// smaller than another paper takes; a sheet that few can print; one that lies across the others of
/// its set; one that is all white.
const SMALL: f64 = 20.0;
const COARSER: f64 = 9.0;
const LARGE: f64 = 8.0;
const UPRIGHT: f64 = 2.5;
const WHITE: f64 = 8.0;

/// Room below a view: two rows of dimensions, below the plan one and the marks of the sections.
pub fn foot_of(projection: Projection) -> f64 {
    if projection == Projection::Plan { 22.0 } else { 22.3 }
}

/// Room above it: its heading, and above a plan labels.
fn head_of(projection: Projection, top: bool) -> f64 {
    match (projection, top) {
        (Projection::Plan, true) => HEADING + TOP - 4.0,
        (Projection::Plan, false) => HEADING + OVER_DATUM,
        _ => HEADING,
    }
}

/// A paper, a scale, and where the view's outline begins.
#[derive(Clone, Copy, Debug)]
pub struct Way {
    pub paper: Paper,
    pub scale: u32,
    pub at: P2,
    /// How deep labels may stand at its left, and whether they may above a plan.
    pub left: f64,
    pub top: bool,
    /// True where another paper takes a larger scale.
    coarser: bool,
    /// How far from the left it stands for the sake of the white at both sides.
    spare: f64,
    /// How far it is let down from the top for the same.
    down: f64,
    /// True where it is so wide that lists stand in a row under it.
    pub wide: bool,
}

impl Way {
    /// The same on a large sheet in its corner: another view may take the rest.
    pub fn pushed(&self) -> Option<Way> {
        if self.paper.w <= Paper::A3.w || self.spare + self.down <= 0.0 {
            return None;
        }
        let left = if self.left > 0.0 { self.left - self.spare.min(LEFT) } else { 0.0 };
        let at = P2::new(self.at.x - self.spare, self.at.y - self.down);
        Some(Way { at, left, spare: 0.0, down: 0.0, wide: false, ..*self })
    }

    /// What the sheet costs its reader: `label` is the cost of a label on average.
    /// `more` is the paper that other views take, mm².
    pub fn cost(&self, view: &View, label: f64, more: f64, space: Rect, block: Rect) -> f64 {
        let steps = SCALES.iter().filter(|s| **s > READABLE && **s <= self.scale).count();
        let large = if self.paper.w.max(self.paper.h) > 500.0 { LARGE } else { 0.0 };
        let o = view.outline();
        let drawn = (o.w + DIMENSIONS + LEFT + LABELS) * (o.h + foot_of(view.projection) + HEADING);
        let lists = LISTS * o.h.min(160.0);
        let used = (drawn + block.w * block.h + lists + more) / (space.w * space.h);
        let upright = if self.paper.h > self.paper.w { UPRIGHT } else { 0.0 };
        let coarser = if self.coarser { COARSER } else { 0.0 };
        label + SMALL * steps as f64 + coarser + large + upright + WHITE * (1.0 - used).max(0.0)
    }
}

/// The ways in which a view can stand: on each paper at the largest scale that it takes. `above` is
/// how far something is drawn over the room's outline, mm real, `aside` what stands at the left of
/// the dimensions and as far at the right, mm.
pub fn ways(
    projection: Projection,
    room: &Box3,
    above: f64,
    aside: f64,
    data: &TitleData,
) -> Vec<Way> {
    let papers = [Paper::A3, Paper::A3_PORTRAIT, Paper::A2];
    let at_scale = |paper: Paper, s: u32| way(projection, room, (above, aside), paper, s, data);
    let mut all: Vec<Way> = papers
        .into_iter()
        .filter_map(|paper| SCALES.into_iter().find_map(|s| at_scale(paper, s)))
        .collect();
    let smallest = SCALES[SCALES.len() - 1];
    if all.is_empty() {
        let space = drawing_space(Paper::A2);
        let at = P2::new(
            space.x + aside + DIMENSIONS,
            space.y + head_of(projection, true) + above / f64::from(smallest),
        );
        all.push(Way {
            paper: Paper::A2,
            scale: smallest,
            at,
            left: 0.0,
            top: false,
            coarser: false,
            spare: 0.0,
            down: 0.0,
            wide: false,
        });
    }
    let largest = all.iter().map(|way| way.scale).min().unwrap_or(smallest);
    for way in &mut all {
        way.coarser = way.scale > largest;
    }
    all
}

fn way(
    projection: Projection,
    room: &Box3,
    (above, aside): (f64, f64),
    paper: Paper,
    scale: u32,
    data: &TitleData,
) -> Option<Way> {
    let real = projection.extent(room);
    let (w, h) = (real.0 / f64::from(scale), real.1 / f64::from(scale));
    let (space, block) = (drawing_space(paper), title_block(paper, data));
    let foot = foot_of(projection);
    let portrait = paper.h > paper.w;
    let flat = projection == Projection::Plan;
    // Room for labels at the left and above a plan, where there is; at the right for lists too, or
    // where those go under the view for labels alone.
    let margins = [(LEFT, flat), (0.0, flat), (LEFT, false), (0.0, false)];
    let rights: &[f64] = match (portrait, flat) {
        (true, true) => &[FEW_LABELS, FEWER],
        (true, false) => &[FEW_LABELS],
        (false, false) => &[LABELS + 42.0],
        (false, true) => &[LABELS + 42.0, LABELS, FEW_LABELS, FEWER],
    };
    let all = rights.iter().flat_map(|right| margins.map(|(left, top)| (*right, left, top)));
    all.into_iter().find_map(|(right, left, top)| {
        let head = head_of(projection, top) + above / f64::from(scale);
        // Left of the title block, where its labels may end above the block; or above it.
        let beside = block.x - space.x - aside - DIMENSIONS - left - w - 2.0;
        let over = space.w - 2.0 * aside - DIMENSIONS - left - w - right;
        let high = space.h - head - h - foot;
        let over_block = block.y - space.y - head - h - foot;
        let (spare, lower, wide) = if !portrait && beside >= 0.0 && high >= 0.0 {
            ((beside + 2.0 - LABELS).max(0.0), if flat { 0.6 * high } else { high }, false)
        } else if over >= 0.0 && over_block >= 0.0 {
            // A wide plan on a large sheet neither crowds at its top nor at its left: the lists
            // stand under it, and what was kept for them beside it is white on both sides.
            let wide = !portrait && flat && paper.w > Paper::A3.w;
            match (portrait, wide) {
                (true, _) => (over, over_block.min(8.0), false),
                (_, true) => (over + (right - LABELS).max(0.0), 0.3 * over_block, true),
                _ => (0.0, 0.0, false),
            }
        } else {
            return None;
        };
        let x = space.x + aside + DIMENSIONS + left + spare / 2.0;
        let at = P2::new(x, space.y + head + lower / 2.0);
        let left = if left > 0.0 { left + (spare / 2.0).min(LEFT) } else { 0.0 };
        let (spare, down) = (spare / 2.0, lower / 2.0);
        Some(Way { paper, scale, at, left, top, coarser: false, spare, down, wide })
    })
}

/// White of the sheet, for lists.
#[derive(Clone)]
pub struct Free {
    space: Rect,
    taken: Vec<Rect>,
    /// Right of this stands what belongs beside the view, below that what belongs under it.
    beside: f64,
    under: f64,
    /// True where everything had better stand under the view: it is wide, and the middle of the
    /// sheet below it would be white.
    all_under: bool,
    /// Where lists begin at their left, the better first.
    columns: Vec<f64>,
}

/// Where a list would rather stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wish {
    Beside,
    Under,
}

/// White kept between lists.
const GAP: f64 = 6.0;

impl Free {
    /// All but the view with its dimensions and marks, what stands round it, and the title block.
    pub fn around(view: &View, foot: f64, space: Rect, block: Rect, round: &[Rect]) -> Free {
        let o = view.outline();
        let far = |far: f64, r: &Rect| if r.x > o.centre().x { far.max(r.right()) } else { far };
        let beside = round.iter().fold(o.right(), far) + GAP;
        let left = (o.x - DIMENSIONS).max(space.x + GAP);
        let inside = Rect::new(space.x + GAP, space.y + 4.0, space.w - GAP - 2.0, space.h - 7.0);
        let view = Rect::new(left, o.y, o.right() - left, o.h + foot + 3.0 - GAP);
        let mut taken = vec![view, Rect::new(block.x, block.y + 3.0, block.w, block.h)];
        taken.extend(round);
        Free {
            space: inside,
            taken,
            beside: o.right(),
            under: o.bottom() + foot,
            all_under: false,
            columns: vec![beside.max(block.x), beside, block.x, left],
        }
    }

    /// The same, with the lists in a row under the view.
    pub fn in_a_row(self) -> Free {
        Free { all_under: true, ..self }
    }

    /// A place of that size: where it is wished if there is one, in a column that there is, at its
    /// top.
    pub fn take(&mut self, w: f64, h: f64, wish: Wish) -> Option<Rect> {
        let wish = if self.all_under { Wish::Under } else { wish };
        let at = self.places(w).filter(|r| r.h >= h).min_by(|a, b| {
            let key = |r: &Rect| {
                let there = match wish {
                    Wish::Beside => r.x >= self.beside,
                    Wish::Under => r.y >= self.under && r.x < self.beside,
                };
                let column = self.columns.iter().position(|c| (c - r.x).abs() < 0.1);
                (!there, column.unwrap_or(self.columns.len()))
            };
            key(a).cmp(&key(b)).then(a.y.total_cmp(&b.y)).then(a.x.total_cmp(&b.x))
        })?;
        Some(self.keep(Rect { h, ..at }))
    }

    /// All of the highest place that is so wide.
    pub fn largest(&mut self, w: f64) -> Option<Rect> {
        let highest = self.places(w).max_by(|a, b| {
            let left = |r: &Rect| -r.x;
            a.h.total_cmp(&b.h).then(left(a).total_cmp(&left(b)))
        })?;
        Some(self.keep(highest))
    }

    fn keep(&mut self, at: Rect) -> Rect {
        self.taken.push(at);
        if !self.columns.iter().any(|c| (c - at.x).abs() < 0.1) {
            self.columns.push(at.x);
        }
        at
    }

    /// Places so wide, each as high as it can be, that start beside or below what is there.
    fn places(&self, w: f64) -> impl Iterator<Item = Rect> + '_ {
        let space = self.space;
        let kept: Vec<Rect> = self.taken.iter().map(|t| t.grown(GAP - 1e-6)).collect();
        let mut xs: Vec<f64> = self.columns.clone();
        xs.push(space.x);
        xs.extend(self.taken.iter().map(|t| t.right() + GAP));
        let ys = std::iter::once(space.y).chain(self.taken.iter().map(|t| t.bottom() + GAP));
        let corners: Vec<P2> =
            ys.flat_map(|y| xs.iter().map(move |x| P2::new(*x, y)).collect::<Vec<_>>()).collect();
        corners.into_iter().filter_map(move |p| {
            let line = Rect::new(p.x, p.y, w, 0.1);
            let inside = p.x >= space.x && p.x + w <= space.right() && p.y >= space.y;
            if !inside || kept.iter().any(|k| k.overlaps(&line)) {
                return None;
            }
            let below = |k: &&Rect| k.x < p.x + w && p.x < k.right() && k.y > p.y;
            let end = kept.iter().filter(below).map(|k| k.y).fold(space.bottom(), f64::min);
            (end > p.y).then(|| Rect::new(p.x, p.y, w, end - p.y))
        })
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
            let ways = ways(projection, &room, 0.0, 0.0, &TitleData::default());
            ways.iter().map(|w| (w.paper.w, w.scale)).collect()
        };
        assert!(found(Projection::Front).contains(&(297.0, 10)));
        assert!(found(Projection::Plan).contains(&(594.0, 5)));
    }

    /// Lists stand in one column, apart, and under the view when that is full.
    #[test]
    fn lists_do_not_share_room() {
        let room = Box3 { x: 0.0, y: 0.0, z: 0.0, w: 1000.0, d: 1000.0, h: 2400.0 };
        let view = View::new(Projection::Plan, 10.0, room, P2::new(40.0, 20.0));
        let (space, block) =
            (Rect::new(0.0, 0.0, 260.0, 250.0), Rect::new(150.0, 200.0, 110.0, 50.0));
        let label = Rect::new(145.0, 60.0, 12.0, 3.0);
        let mut free = Free::around(&view, 20.0, space, block, &[label]);
        let taken: Vec<Rect> = (0..5).filter_map(|_| free.take(60.0, 50.0, Wish::Beside)).collect();
        assert_eq!(taken.len(), 5);
        assert!(taken[..3].iter().all(|r| r.x == taken[0].x && r.x > label.right()));
        assert!(taken[3..].iter().all(|r| r.y > view.outline().bottom()));
        let all = [&taken[..], &[view.outline(), block, label]].concat();
        for (i, a) in all.iter().enumerate() {
            assert!(all[i + 1..].iter().all(|b| !a.overlaps(b)), "{i} of {all:?}");
        }
    }
}
