//! A sheet as SVG. In: the scene. Out: text; 1 user unit = 1 mm on paper, presentation attributes
//! only, the `data-…` attributes that a script may rely on.

use std::sync::LazyLock;

use base64::Engine;
use svg::node::Text;
use svg::node::element::{Element, Style};
use svg::{Document, Node};

use super::number;
use crate::draw::scene::{Anchor, Group, Item, Mark, Seg, Shape, Sheet, Stroke, Words};
use crate::lettering::{FAMILY, Weight, font_size, printed};
use crate::model::Rect;

/// How the SVG carries its typeface.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Typeface {
    /// Inside the file, so that it looks the same everywhere.
    #[default]
    Embedded,
    /// By name only: small, for readers that have the face.
    Named,
}

/// The sheet as SVG text.
pub fn svg(sheet: &Sheet, typeface: Typeface) -> String {
    let paper = sheet.paper;
    let scale = sheet.scale.map_or_else(|| "none".to_owned(), |s| s.to_string());
    let mut root = Document::new()
        .set("width", format!("{}mm", number(paper.w)))
        .set("height", format!("{}mm", number(paper.h)))
        .set("viewBox", format!("0 0 {} {}", number(paper.w), number(paper.h)))
        .set("data-sheet", clean(&sheet.key))
        .set("data-scale", scale)
        .set("role", "img")
        .set("lang", "en-GB")
        .set("aria-labelledby", "sheet-title sheet-desc")
        .set("font-family", format!("'{FAMILY}', sans-serif"))
        .add(captioned("title", "sheet-title", &sheet.title))
        .add(captioned("desc", "sheet-desc", &sheet.description));
    if typeface == Typeface::Embedded {
        root = root.add(Style::new(font_faces()));
    }
    let ground = Rect::new(0.0, 0.0, paper.w, paper.h);
    root = root.add(shape(&Shape::rect(ground, None, Some(crate::draw::scene::Ink::WHITE))));
    for item in &sheet.items {
        root.append(element(item));
    }
    let mut text = root.to_string();
    text.push('\n');
    text
}

/// The two faces, cut down to the characters a sheet can hold (how: see DEVELOPERS.md).
fn font_faces() -> &'static str {
    static FACES: LazyLock<String> = LazyLock::new(|| {
        let face = |data: &[u8], weight: u16| {
            let data = base64::engine::general_purpose::STANDARD.encode(data);
            format!(
                "@font-face{{font-family:'{FAMILY}';font-weight:{weight};\
                 src:url(data:font/woff2;base64,{data}) format('woff2')}}"
            )
        };
        let regular =
            include_bytes!("../lettering/fonts/IBMPlexSansCondensed-Regular.subset.woff2");
        let bold = include_bytes!("../lettering/fonts/IBMPlexSansCondensed-SemiBold.subset.woff2");
        face(regular, 400) + &face(bold, 600)
    });
    &FACES
}

fn captioned(name: &str, id: &str, text: &str) -> Element {
    let mut e = Element::new(name);
    e.assign("id", id);
    e.append(Text::new(clean(text)));
    e
}

fn element(item: &Item) -> Element {
    match item {
        Item::Group(g) => group(g),
        Item::Shape(s) => shape(s),
        Item::Words(w) => words(w),
    }
}

fn group(g: &Group) -> Element {
    let mut e = Element::new("g");
    assign_mark(&mut e, &g.mark);
    if let Some(title) = &g.title {
        let mut t = Element::new("title");
        t.append(Text::new(clean(title)));
        e.append(t);
    }
    for item in &g.items {
        e.append(element(item));
    }
    e
}

fn shape(s: &Shape) -> Element {
    let mut e = Element::new("path");
    e.assign("d", path(&s.path));
    e.assign("fill", s.fill.map_or_else(|| "none".to_owned(), |i| format!("#{}", i.0)));
    if let Some(stroke) = &s.stroke {
        assign_stroke(&mut e, stroke);
    }
    assign_mark(&mut e, &s.mark);
    e
}

fn assign_stroke(e: &mut Element, stroke: &Stroke) {
    e.assign("stroke", format!("#{}", stroke.ink.0));
    e.assign("stroke-width", number(stroke.width));
    if !stroke.dash.is_empty() {
        let dashes: Vec<String> = stroke.dash.iter().map(|d| number(*d)).collect();
        e.assign("stroke-dasharray", dashes.join(" "));
    }
    if stroke.round {
        e.assign("stroke-linecap", "round");
        e.assign("stroke-linejoin", "round");
    }
}

/// Absolute path data.
fn path(path: &[Seg]) -> String {
    let mut d = String::new();
    for seg in path {
        if !d.is_empty() {
            d.push(' ');
        }
        match seg {
            Seg::Move(p) => d.push_str(&format!("M{} {}", number(p.x), number(p.y))),
            Seg::Line(p) => d.push_str(&format!("L{} {}", number(p.x), number(p.y))),
            Seg::Cubic(a, b, c) => {
                let n: Vec<String> =
                    [a.x, a.y, b.x, b.y, c.x, c.y].iter().map(|v| number(*v)).collect();
                d.push_str(&format!("C{}", n.join(" ")));
            }
            Seg::Arc { radius, large, clockwise, to } => {
                let r = number(*radius);
                d.push_str(&format!(
                    "A{r} {r} 0 {} {} {} {}",
                    u8::from(*large),
                    u8::from(*clockwise),
                    number(to.x),
                    number(to.y)
                ));
            }
            Seg::Close => d.push('Z'),
        }
    }
    d
}

fn words(w: &Words) -> Element {
    let mut e = Element::new("text");
    let (x, y) = (number(w.at.x), number(w.at.y));
    if w.upwards {
        e.assign("transform", format!("rotate(-90 {x} {y})"));
    }
    e.assign("x", x);
    e.assign("y", y);
    e.assign("font-size", number(font_size(w.height)));
    match w.anchor {
        Anchor::Start => {}
        Anchor::Middle => e.assign("text-anchor", "middle"),
        Anchor::End => e.assign("text-anchor", "end"),
    }
    if w.weight == Weight::Bold {
        e.assign("font-weight", "600");
    }
    e.assign("fill", format!("#{}", w.ink.0));
    if w.halo {
        e.assign("paint-order", "stroke");
        e.assign("stroke", "#ffffff");
        e.assign("stroke-width", "0.8");
        e.assign("stroke-linejoin", "round");
    }
    assign_mark(&mut e, &w.mark);
    e.append(Text::new(clean(&printed(&w.text))));
    e
}

fn assign_mark(e: &mut Element, mark: &Mark) {
    match mark {
        Mark::None => {}
        Mark::Layer(name) => e.assign("id", format!("layer-{name}")),
        Mark::View { scale } => e.assign("data-scale", scale.to_string()),
        Mark::Part { tag, kind, on_paper, real } => {
            e.assign("data-part", clean(tag));
            e.assign("data-kind", clean(kind));
            e.assign("data-box", rect(on_paper));
            if let Some(real) = real {
                e.assign("data-real", list(real));
            }
        }
        Mark::Pipe { id, service, size, from, to, real } => {
            e.assign("data-pipe", clean(id));
            e.assign("data-service", *service);
            e.assign("data-size", clean(size));
            e.assign("data-from", clean(from));
            e.assign("data-to", clean(to));
            if let Some(real) = real {
                let points: Vec<String> = real
                    .iter()
                    .map(|p| p.iter().map(|v| number(*v)).collect::<Vec<_>>().join(","))
                    .collect();
                e.assign("data-real", points.join(" "));
            }
        }
        Mark::Of(id) => e.assign("data-of", clean(id)),
        Mark::Arrow { of, direction } => {
            e.assign("data-arrow-of", clean(of));
            e.assign("data-direction", number(*direction));
        }
        Mark::Label { of, on_paper } => {
            e.assign("data-label-of", clean(of));
            e.assign("data-box", rect(on_paper));
        }
        Mark::Flag { of, on_paper, end } => {
            e.assign("data-flag-of", clean(of));
            e.assign("data-box", rect(on_paper));
            if let Some(end) = end {
                e.assign("data-end", list(&[end.x, end.y]));
            }
        }
        Mark::Dimension { axis, value } => {
            e.assign("data-dimension", axis.to_string());
            e.assign("data-value", number(*value));
        }
    }
}

fn rect(r: &Rect) -> String {
    list(&[r.x, r.y, r.w, r.h])
}

fn list(values: &[f64]) -> String {
    values.iter().map(|v| number(*v)).collect::<Vec<_>>().join(" ")
}

/// User text without the control characters that XML can't hold.
fn clean(text: &str) -> String {
    text.chars().filter(|c| !c.is_control() && !matches!(c, '\u{fffe}' | '\u{ffff}')).collect()
}
