//! What a name may be misread as: the name of another pipe, a part's in whose box it stands, its
//! leader as a pipe. In: the callouts of a view, a place for one of them. Out: what that costs, as
//! far as a place can be told from its neighbours.

use super::callouts::{Callouts, Drawn};
use super::choose::Place;
use super::request::Request;
use crate::model::{P2, Rect};

/// A label of one pipe by another that is called otherwise: where that is as near as its own, and
/// where it has a leader; where its words run along that one, and the same with a leader, which
/// nobody follows then.
const BY_A_PIPE: f64 = 25.0;
const LED_BY_A_PIPE: f64 = 6.0;
const ALONG_A_PIPE: f64 = 15.0;
const LED_ALONG_A_PIPE: f64 = 120.0;
/// A name with a leader on the face of a body which its own body, or its pipe, does not meet.
const LED_ON_ANOTHER: f64 = 8.0;
const PIPE_ON_ANOTHER: f64 = 120.0;
/// A leader that goes on as its own pipe runs; one that is longer than this and runs as pipes do, mm,
/// goes to a corner of its words.
const GOES_ON: f64 = 12.0;
const SQUARE: f64 = 3.5;

impl Callouts {
    /// What it costs that a label of a pipe may be read as that of another beside it: how much nearer
    /// its own is, as a map's reader judges.
    pub(super) fn by_a_pipe(&self, request: &Request, place: &Place) -> f64 {
        /// So much nearer leaves no doubt, mm.
        const CLEARLY: f64 = 1.5;
        const FAR: f64 = 4.0;
        let Some(own) = self.pipes.iter().find(|p| p.of == request.of) else { return 0.0 };
        let off = |p: &Drawn| p.at.gap(&place.at);
        let near = place.at.grown(FAR);
        let least = |which: &dyn Fn(&Drawn) -> bool| {
            let those = self.pipes.iter().filter(|p| p.at.overlaps(&near) && which(p));
            those.map(off).fold(FAR, f64::min)
        };
        let foreign = |p: &Drawn| p.of != request.of && p.called != own.called;
        let other = least(&foreign);
        let led = !place.leader.is_empty();
        let runs_along = |p: &Drawn| {
            let (a, b) = (&p.at, &place.at);
            let (by, along, whole) = if place.words.upwards {
                (a.h > a.w, a.bottom().min(b.bottom()) - a.y.max(b.y), b.h)
            } else {
                (a.w > a.h, a.right().min(b.right()) - a.x.max(b.x), b.w)
            };
            let close = if led { CLEARLY } else { 2.0 * CLEARLY };
            by && along > 0.5 * whole && off(p) < close
        };
        let mut cost = 0.0;
        let own_along = |p: &Drawn| p.of == request.of && runs_along(p);
        if self.pipes.iter().any(|p| foreign(p) && runs_along(p))
            && (led || !self.pipes.iter().any(own_along))
        {
            cost += if led { LED_ALONG_A_PIPE } else { ALONG_A_PIPE };
        }
        if led {
            return cost + LED_BY_A_PIPE * (1.0 - other / CLEARLY).max(0.0);
        }
        let own = least(&|p| p.of == request.of);
        cost + BY_A_PIPE * (1.0 - (other - own) / CLEARLY).clamp(0.0, 2.0)
    }

    /// What it costs that a name with a leader is read as another's, or its leader as a pipe.
    pub(super) fn led_astray(&self, request: &Request, place: &Place) -> f64 {
        let own = || self.pipes.iter().filter(|p| p.of == request.of);
        let is_pipe = own().next().is_some();
        let meets_own = |face: &Rect| match request.inside {
            Some(body) => body.overlaps(face),
            None => !is_pipe || own().any(|p| p.at.overlaps(face)),
        };
        let astray = |(of, face): &&(String, Rect)| {
            *of != request.of && face.overlaps(&place.at) && !meets_own(face)
        };
        let led = !place.leader.is_empty();
        let on_another = match is_pipe {
            true => PIPE_ON_ANOTHER,
            false if led => LED_ON_ANOTHER,
            false => 0.0,
        };
        let mut cost = on_another * self.faces.iter().filter(astray).count() as f64;
        let [from, to, ..] = place.leader[..] else { return cost };
        let (dx, dy) = ((to.x - from.x).abs(), (to.y - from.y).abs());
        let goes_on = if request.upright { dx < 0.2 } else { dy < 0.2 };
        if is_pipe && goes_on && dx.max(dy) > SQUARE {
            cost += GOES_ON;
        }
        cost
    }
}

/// Where the leader from a point meets words: as near as may be, but where it would run as pipes do,
/// at a corner.
pub(super) fn end_of(from: P2, words: &Rect) -> P2 {
    /// So far aslant it is told from a pipe, mm.
    const ASLANT: f64 = 1.2;
    let near = words.nearest(from);
    let (dx, dy) = ((near.x - from.x).abs(), (near.y - from.y).abs());
    if dx.max(dy) < SQUARE || dx.min(dy) > 0.2 {
        return near;
    }
    let (left, right) = (P2::new(words.x, near.y), P2::new(words.right(), near.y));
    let (top, foot) = (P2::new(near.x, words.y), P2::new(near.x, words.bottom()));
    let corners = if dy > dx { [left, right] } else { [top, foot] };
    let off = |p: &P2| (p.x - from.x).abs().min((p.y - from.y).abs());
    let enough = corners.into_iter().filter(|p| off(p) > ASLANT);
    enough.min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(near)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A leader that would run level or plumb as pipes do goes to a corner of its words; a short one
    /// and one that runs aslant go the nearest way.
    #[test]
    fn no_leader_runs_as_pipes_do() {
        let words = Rect::new(10.0, 20.0, 8.0, 4.0);
        for from in [P2::new(13.0, 60.0), P2::new(14.0, 2.0), P2::new(60.0, 22.0)] {
            let end = end_of(from, &words);
            assert!((end.x - from.x).abs() > 1.0 && (end.y - from.y).abs() > 1.0, "{end:?}");
        }
        let near = P2::new(13.0, 26.0);
        assert_eq!(end_of(near, &words), words.nearest(near));
        let aslant = P2::new(40.0, 60.0);
        assert_eq!(end_of(aslant, &words), words.nearest(aslant));
    }
}
