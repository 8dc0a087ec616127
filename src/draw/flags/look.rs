//! How a mark looks. In: what stands against a part, the place of the mark. Out: a flag with a
//! triangle and its rules for each grade, and a tail that tapers to the part: nothing else on a sheet
//! does, so it is told from every pipe in grey too.

use super::Grade;
use super::place::Set;
use crate::draw::scene::{Group, Ink, Item, Mark, Shape, Stroke, Words};
use crate::lettering::{Weight, width};
use crate::model::P2;

/// Height of a mark's letters, and its sign, mm.
const LETTERS: f64 = 2.5;
pub const SIGN: (f64, f64) = (3.2, 2.8);
/// From one row of a flag to the next, and from its edge to what is in it.
const PITCH: f64 = 3.7;
const EDGE: f64 = 0.6;
/// Between a sign and its words, between one grade and the next.
const SPACE: f64 = 0.6;
const BETWEEN: f64 = 1.6;
/// Half the tail's width at the flag; the dot at its end.
const HALF: f64 = 0.75;
const DOT: f64 = 0.6;

/// One thing in a row: a sign, or words, at so many mm from its left.
enum Piece {
    Sign(f64, Grade),
    Words(f64, String),
}

/// The face of a flag, row by row.
pub struct Face {
    rows: Vec<Vec<Piece>>,
    pub size: (f64, f64),
}

/// The faces that one mark may have: all in one row, or one rule in each.
pub fn faces(codes: &[(&'static str, Grade)], after: &str) -> Vec<Face> {
    let one = face(codes, after, false);
    match codes.len() {
        0 | 1 => vec![one],
        _ => vec![one, face(codes, after, true)],
    }
}

fn face(codes: &[(&'static str, Grade)], after: &str, stacked: bool) -> Face {
    const SHOWN: usize = 4;
    let mut grades: Vec<(Grade, Vec<String>)> = Vec::new();
    for (code, grade) in codes.iter().take(SHOWN) {
        match grades.iter_mut().find(|(g, _)| g == grade) {
            Some((_, list)) => list.push((*code).to_owned()),
            None => grades.push((*grade, vec![(*code).to_owned()])),
        }
    }
    grades.sort_by_key(|(grade, _)| *grade);
    if let Some((_, last)) = grades.last_mut() {
        let more = codes.len().saturating_sub(SHOWN);
        let tail = if more > 0 { format!(" +{more}") } else { String::new() };
        if let Some(text) = last.last_mut() {
            text.push_str(&tail);
            text.push_str(after);
        }
    }
    let measure = |text: &str| width(text, LETTERS, Weight::Bold);
    let (mut rows, mut wide): (Vec<Vec<Piece>>, f64) = (vec![Vec::new()], 0.0);
    let mut x = 0.0;
    for (i, (grade, list)) in grades.iter().enumerate() {
        if stacked && i > 0 {
            rows.push(Vec::new());
            x = 0.0;
        } else if i > 0 {
            x += BETWEEN;
        }
        let words = if stacked { list.clone() } else { vec![list.join(", ")] };
        let left = x + SIGN.0 + SPACE;
        for (k, text) in words.into_iter().enumerate() {
            if k > 0 {
                rows.push(Vec::new());
            }
            let row = rows.last_mut().expect("there is a first row");
            if k == 0 {
                row.push(Piece::Sign(x, *grade));
            }
            wide = wide.max(left + measure(&text));
            row.push(Piece::Words(left, text));
        }
        x = wide;
    }
    let high = SIGN.1 + 0.3 + PITCH * (rows.len() - 1) as f64;
    Face { rows, size: (wide + 2.0 * EDGE, high + 2.0 * EDGE) }
}

/// The flag with its tail. `at`: what it stands at, in words; `seen`: its own is not covered.
pub fn drawn(of: &str, face: &Face, set: &Set, (title, seen): (String, bool)) -> Item {
    let mut items: Vec<Item> = Vec::new();
    if let Some((from, to)) = set.tail {
        items.extend(tail(from, to, seen).into_iter().map(Item::Shape));
    }
    let edge = Stroke::solid(0.25, Ink::ALARM);
    items.push(Shape::rect(set.at, Some(edge), Some(Ink::WHITE)).into());
    for (i, row) in face.rows.iter().enumerate() {
        let (x, y) = (set.at.x + EDGE, set.at.y + EDGE + PITCH * i as f64);
        for piece in row {
            match piece {
                Piece::Sign(dx, grade) => {
                    let at = P2::new(x + dx, y + 0.1);
                    items.extend(sign(at, *grade).into_iter().map(Item::Shape));
                }
                Piece::Words(dx, text) => {
                    let line = P2::new(x + dx, y + LETTERS + 0.2);
                    let words = Words::new(line, text.as_str(), LETTERS).bold().ink(Ink::ALARM);
                    let on_paper = words.on_paper();
                    let mark = Mark::Label { of: of.to_owned(), on_paper };
                    items.push(words.mark(mark).into());
                }
            }
        }
    }
    let end = set.tail.map(|(_, to)| to);
    let mark = Mark::Flag { of: of.to_owned(), on_paper: set.at, end };
    Group { mark, title: Some(title), items }.into()
}

/// A wedge with a white edge, and a dot where it ends: a ring where that is covered.
fn tail(from: P2, to: P2, seen: bool) -> Vec<Shape> {
    let far = libm::hypot(to.x - from.x, to.y - from.y).max(0.01);
    let (across, down) = ((to.y - from.y) / far * HALF, -(to.x - from.x) / far * HALF);
    let corners =
        [P2::new(from.x + across, from.y + down), to, P2::new(from.x - across, from.y - down)];
    let ground = Stroke { round: true, ..Stroke::solid(0.9, Ink::WHITE) };
    let ring = Stroke::solid(0.35, Ink::ALARM);
    let (edge, fill) = if seen { (None, Ink::ALARM) } else { (Some(ring), Ink::WHITE) };
    vec![
        Shape::polygon(&corners, Some(ground), None),
        Shape::circle(to, DOT + 0.3, None, Some(Ink::WHITE)),
        Shape::polygon(&corners, None, Some(Ink::ALARM)),
        Shape::circle(to, DOT, edge, Some(fill)),
    ]
}

/// A triangle on its base with a stroke and a dot in it, told in grey by its shape: full for an
/// error, hollow for a warning. A square on its tip for what no rule covers.
pub fn sign(at: P2, grade: Grade) -> Vec<Shape> {
    let (w, h) = SIGN;
    let x = at.x + w / 2.0;
    let corners = match grade {
        Grade::Outside => {
            let (half, y) = (h / 2.0 + 0.2, at.y + h / 2.0);
            vec![
                P2::new(x, y - half),
                P2::new(x + half, y),
                P2::new(x, y + half),
                P2::new(x - half, y),
            ]
        }
        _ => vec![P2::new(x, at.y), P2::new(at.x + w, at.y + h), P2::new(at.x, at.y + h)],
    };
    let full = grade != Grade::Warning;
    let (ground, ink) = if full { (Ink::ALARM, Ink::WHITE) } else { (Ink::WHITE, Ink::ALARM) };
    let up = if grade == Grade::Outside { 0.35 } else { 0.0 };
    let stroke = [P2::new(x, at.y + 0.95 - up), P2::new(x, at.y + 1.85 - up)];
    vec![
        Shape::polygon(&corners, Some(Stroke::solid(0.3, Ink::ALARM)), Some(ground)),
        Shape::line(&stroke, Stroke::solid(0.4, ink)),
        Shape::circle(P2::new(x, at.y + 2.3 - up), 0.22, None, Some(ink)),
    ]
}

/// Red dots along what has no room for a mark.
pub fn dotted(edges: &[(P2, P2)]) -> Vec<Item> {
    let dots = || Stroke { round: true, ..Stroke::dashed(0.7, &[0.1, 1.3], Ink::ALARM) };
    edges.iter().map(|(a, b)| Shape::line(&[*a, *b], dots()).into()).collect()
}
