//! A sheet as marks on paper, mm, origin top left, y down. In: what the drawing stages decide.
//! Out: a tree that `render` turns into SVG, and through it into PNG and PDF.

use crate::lettering::Weight;
use crate::model::{P2, Rect};

/// One sheet of paper.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// File stem and `data-sheet`: "schematic", "elevation", "setting-out-back".
    pub key: String,
    /// For the title block and the PDF outline.
    pub title: String,
    /// The drawing as a paragraph of text, for people who can't see it.
    pub description: String,
    pub paper: Paper,
    /// Denominator of the scale; `None` = not to scale.
    pub scale: Option<u32>,
    pub items: Vec<Item>,
}

/// Trimmed size, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paper {
    pub name: &'static str,
    pub w: f64,
    pub h: f64,
}

impl Paper {
    pub const A4_PORTRAIT: Paper = Paper { name: "A4", w: 210.0, h: 297.0 };
    pub const A4_LANDSCAPE: Paper = Paper { name: "A4", w: 297.0, h: 210.0 };
    pub const A3: Paper = Paper { name: "A3", w: 420.0, h: 297.0 };
    pub const A3_PORTRAIT: Paper = Paper { name: "A3", w: 297.0, h: 420.0 };
    pub const A2: Paper = Paper { name: "A2", w: 594.0, h: 420.0 };
}

#[derive(Clone, Debug)]
pub enum Item {
    Group(Group),
    Shape(Shape),
    Words(Words),
}

/// The title of the group that is a sheet's scale bar.
pub const SCALE_BAR: &str = "Scale bar";

#[derive(Clone, Debug, Default)]
pub struct Group {
    pub mark: Mark,
    /// Plain words, the browser's tooltip.
    pub title: Option<String>,
    pub items: Vec<Item>,
}

/// What an item means: becomes the `data-…` attributes of the SVG contract.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Mark {
    #[default]
    None,
    /// A named layer, in the fixed painting order.
    Layer(&'static str),
    /// A view at a scale that need not be the sheet's: `data-scale`.
    View {
        scale: u32,
    },
    Part {
        tag: String,
        kind: String,
        on_paper: Rect,
        /// x y z w d h, mm, on scaled sheets.
        real: Option<[f64; 6]>,
    },
    /// The centre line of a pipe; its shape holds only moves and lines.
    Pipe {
        id: String,
        service: &'static str,
        size: String,
        from: String,
        to: String,
        /// Real polyline, mm, on scaled sheets.
        real: Option<Vec<[f64; 3]>>,
    },
    /// Part of how the pipe (or part) of that id looks: outline, lagging, jump.
    Of(String),
    /// Direction in degrees: 0 = to the right, 90 = down the sheet.
    Arrow {
        of: String,
        direction: f64,
    },
    /// `data-label-of` and `data-box`.
    Label {
        of: String,
        on_paper: Rect,
    },
    Dimension {
        axis: char,
        value: f64,
    },
    /// A finding's mark: what it speaks of, its flag, where its tail ends. `data-flag-of`,
    /// `data-box`, `data-end`.
    Flag {
        of: String,
        on_paper: Rect,
        end: Option<P2>,
    },
}

#[derive(Clone, Debug, Default)]
pub struct Shape {
    pub mark: Mark,
    pub path: Vec<Seg>,
    pub stroke: Option<Stroke>,
    pub fill: Option<Ink>,
}

/// One step of a path, absolute.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Seg {
    Move(P2),
    Line(P2),
    Cubic(P2, P2, P2),
    /// Circular arc to a point.
    Arc {
        radius: f64,
        large: bool,
        clockwise: bool,
        to: P2,
    },
    Close,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    pub width: f64,
    /// Lengths of dashes and gaps, mm; empty = continuous.
    pub dash: Vec<f64>,
    pub ink: Ink,
    /// Round caps and joins where true, butt and mitre otherwise.
    pub round: bool,
}

/// A colour as six hex digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ink(pub &'static str);

impl Ink {
    pub const BLACK: Ink = Ink("000000");
    pub const WHITE: Ink = Ink("ffffff");
    /// The lightest grey that text may have.
    pub const GREY: Ink = Ink("595959");
    /// For hatching and grounds only.
    pub const PALE: Ink = Ink("d9d9d9");
    pub const ALARM: Ink = Ink("b00020");
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Anchor {
    #[default]
    Start,
    Middle,
    End,
}

/// One line of text.
#[derive(Clone, Debug)]
pub struct Words {
    pub mark: Mark,
    /// Baseline point.
    pub at: P2,
    pub text: String,
    /// Height of a capital, mm; at least 2.5 on any sheet (1.8 in title-block captions).
    pub height: f64,
    pub weight: Weight,
    pub anchor: Anchor,
    /// True: reads upwards, from the right of the sheet.
    pub upwards: bool,
    /// True: a white edge round the letters.
    pub halo: bool,
    pub ink: Ink,
}

impl Words {
    pub fn new(at: P2, text: impl Into<String>, height: f64) -> Words {
        Words {
            mark: Mark::None,
            at,
            text: text.into(),
            height,
            weight: Weight::Regular,
            anchor: Anchor::Start,
            upwards: false,
            halo: false,
            ink: Ink::BLACK,
        }
    }

    pub fn anchor(mut self, anchor: Anchor) -> Words {
        self.anchor = anchor;
        self
    }

    pub fn bold(mut self) -> Words {
        self.weight = Weight::Bold;
        self
    }

    pub fn ink(mut self, ink: Ink) -> Words {
        self.ink = ink;
        self
    }

    pub fn mark(mut self, mark: Mark) -> Words {
        self.mark = mark;
        self
    }

    pub fn halo(mut self) -> Words {
        self.halo = true;
        self
    }

    pub fn upwards(mut self) -> Words {
        self.upwards = true;
        self
    }

    /// The box the letters cover, from cap line to descender.
    pub fn on_paper(&self) -> Rect {
        self.of_width(crate::lettering::width(&self.text, self.height, self.weight))
    }

    /// The same for a text whose width is known: measuring is dear.
    pub fn of_width(&self, w: f64) -> Rect {
        use crate::lettering::{DESCENT, font_size};
        let below = font_size(self.height) * DESCENT;
        let back = match self.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => w / 2.0,
            Anchor::End => w,
        };
        if self.upwards {
            Rect::new(self.at.x - self.height, self.at.y - w + back, self.height + below, w)
        } else {
            Rect::new(self.at.x - back, self.at.y - self.height, w, self.height + below)
        }
    }
}

impl Stroke {
    pub fn solid(width: f64, ink: Ink) -> Stroke {
        Stroke { width, dash: Vec::new(), ink, round: false }
    }

    pub fn dashed(width: f64, dash: &[f64], ink: Ink) -> Stroke {
        Stroke { width, dash: dash.to_vec(), ink, round: false }
    }
}

impl Shape {
    pub fn line(points: &[P2], stroke: Stroke) -> Shape {
        let path = points
            .iter()
            .enumerate()
            .map(|(i, p)| if i == 0 { Seg::Move(*p) } else { Seg::Line(*p) })
            .collect();
        Shape { mark: Mark::None, path, stroke: Some(stroke), fill: None }
    }

    pub fn polygon(points: &[P2], stroke: Option<Stroke>, fill: Option<Ink>) -> Shape {
        let mut shape = Shape::line(points, Stroke::solid(0.25, Ink::BLACK));
        shape.path.push(Seg::Close);
        shape.stroke = stroke;
        shape.fill = fill;
        shape
    }

    pub fn rect(r: Rect, stroke: Option<Stroke>, fill: Option<Ink>) -> Shape {
        let corners = [
            P2::new(r.x, r.y),
            P2::new(r.right(), r.y),
            P2::new(r.right(), r.bottom()),
            P2::new(r.x, r.bottom()),
        ];
        Shape::polygon(&corners, stroke, fill)
    }

    pub fn circle(centre: P2, radius: f64, stroke: Option<Stroke>, fill: Option<Ink>) -> Shape {
        let (l, r) = (P2::new(centre.x - radius, centre.y), P2::new(centre.x + radius, centre.y));
        let half = |to| Seg::Arc { radius, large: false, clockwise: true, to };
        let path = vec![Seg::Move(l), half(r), half(l), Seg::Close];
        Shape { mark: Mark::None, path, stroke, fill }
    }

    pub fn mark(mut self, mark: Mark) -> Shape {
        self.mark = mark;
        self
    }
}

impl From<Shape> for Item {
    fn from(shape: Shape) -> Item {
        Item::Shape(shape)
    }
}

impl From<Words> for Item {
    fn from(words: Words) -> Item {
        Item::Words(words)
    }
}

impl From<Group> for Item {
    fn from(group: Group) -> Item {
        Item::Group(group)
    }
}
