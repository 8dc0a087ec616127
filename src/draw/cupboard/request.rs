//! What asks for a label on a scaled view. In: what the view shows. Out: its words and the places
//! that would do, for [`super::callouts`] to choose from.

use crate::model::{P2, Rect};

/// Something that wants a label.
#[derive(Clone, Debug)]
pub struct Request {
    /// Tag or pipe id.
    pub of: String,
    pub text: String,
    /// What it says where there is little room: the rest then stands in a list.
    pub short: Option<String>,
    /// The point the label speaks of.
    pub anchor: P2,
    /// Other points it may speak of as well, the better first.
    pub also: Vec<P2>,
    /// How many of the points are its alone: at the others another thing is as near.
    pub clear: usize,
    /// True for the tag of a body.
    pub is_tag: bool,
    /// Its own outline: the label may stand inside it if it fits.
    pub inside: Option<Rect>,
    /// The part of it that is to be written on.
    pub face: Option<Rect>,
    /// Half the thickness of the thing at the anchor: the label stands beyond it.
    pub half: f64,
    /// True: the thing runs up the sheet here, so a label may read upwards beside it.
    pub upright: bool,
    /// How far the label may slide along the thing, either way.
    pub reach: f64,
    /// What lies hidden behind its own body: its label may stand over it.
    pub over: Vec<Rect>,
    /// What hides some of its own body: on that its label would be another's.
    pub under: Vec<Rect>,
    /// True where the view or a list beside it says the same: it may be left out.
    pub spare: bool,
    /// True where so little of its body is seen that a label off it needs a leader.
    pub led: bool,
}

impl Request {
    /// A text at a point, and nothing else about it.
    pub fn new(of: &str, text: String, anchor: P2) -> Request {
        Request {
            of: of.to_owned(),
            text,
            short: None,
            anchor,
            also: Vec::new(),
            clear: usize::MAX,
            is_tag: false,
            inside: None,
            face: None,
            half: 0.0,
            upright: false,
            reach: 0.0,
            over: Vec::new(),
            under: Vec::new(),
            spare: false,
            led: false,
        }
    }

    pub(super) fn points(&self) -> impl Iterator<Item = P2> + '_ {
        std::iter::once(self.anchor).chain(self.also.iter().copied())
    }

    /// The request at each of its points.
    pub(super) fn everywhere(&self) -> impl Iterator<Item = Request> + '_ {
        let also = self.also.iter().map(|p| Request { anchor: *p, ..self.clone() });
        std::iter::once(self.clone()).chain(also)
    }
}
