//! The marks of findings judged from a sheet's SVG text alone: each reads as its own part's, none is
//! struck by a line or stands among the dimensions, and none is missing.

use std::collections::BTreeMap;

use firstfix::check::{Report, Severity};
use roxmltree::{Document, Node};

const HAIR: f64 = 0.05;
/// A body at least so wide and high carries on its face what belongs to others, mm.
const WIDE: f64 = 25.0;
/// What is nearer to a mark than this reads with it, unless its own is about as near, mm.
const CLEAR: f64 = 1.25;
const TIE: f64 = 1.0;
/// So many places of a finding are marked.
const MOST: usize = 8;

type P = (f64, f64);

#[derive(Clone, Copy, Debug)]
struct Bx {
    x: f64,
    y: f64,
    r: f64,
    b: f64,
}

impl Bx {
    fn of(n: &Node) -> Bx {
        let v = numbers(n.attribute("data-box").expect("a box"));
        Bx { x: v[0], y: v[1], r: v[0] + v[2], b: v[1] + v[3] }
    }

    fn between(a: P, b: P) -> Bx {
        Bx { x: a.0.min(b.0), y: a.1.min(b.1), r: a.0.max(b.0), b: a.1.max(b.1) }
    }

    fn at(p: P) -> Bx {
        Bx::between(p, p)
    }

    fn gap(&self, o: &Bx) -> f64 {
        let x = (self.x - o.r).max(o.x - self.r).max(0.0);
        let y = (self.y - o.b).max(o.y - self.b).max(0.0);
        (x * x + y * y).sqrt()
    }

    fn meets(&self, o: &Bx) -> bool {
        self.x + HAIR < o.r && o.x + HAIR < self.r && self.y + HAIR < o.b && o.y + HAIR < self.b
    }

    /// Does any of a fine row of points along the line lie inside?
    fn is_struck(&self, a: P, b: P) -> bool {
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let steps = ((dx.abs() + dy.abs()) / 0.1).ceil().max(1.0) as usize;
        (0..=steps).any(|i| {
            let t = i as f64 / steps as f64;
            let (x, y) = (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t);
            x > self.x + HAIR && x < self.r - HAIR && y > self.y + HAIR && y < self.b - HAIR
        })
    }
}

fn numbers(text: &str) -> Vec<f64> {
    text.split([' ', ',']).filter(|t| !t.is_empty()).map(|t| t.parse().expect("a number")).collect()
}

/// Path data as straight lines; an arc is taken for its chord, a curve for a fine row of chords.
fn lines(d: &str) -> Vec<(P, P)> {
    let (mut out, mut at, mut start) = (Vec::new(), (0.0, 0.0), (0.0, 0.0));
    let mut rest = d;
    while let Some(step) = rest.chars().next() {
        let body = &rest[1..];
        let end = body.find(|c: char| c.is_ascii_alphabetic()).unwrap_or(body.len());
        let v = numbers(body[..end].trim());
        rest = body[end..].trim_start();
        match step {
            'M' => (at, start) = ((v[0], v[1]), (v[0], v[1])),
            'C' => {
                let p = [at, (v[0], v[1]), (v[2], v[3]), (v[4], v[5])];
                let mix = |a: P, b: P, t: f64| (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t);
                // De Casteljau.
                let on = |t: f64| {
                    let [a, b, c] = [0, 1, 2].map(|i| mix(p[i], p[i + 1], t));
                    mix(mix(a, b, t), mix(b, c, t), t)
                };
                out.extend((0..40).map(|i| (on(f64::from(i) / 40.0), on(f64::from(i + 1) / 40.0))));
                at = p[3];
            }
            'Z' => {
                out.push((at, start));
                at = start;
            }
            _ => {
                let to = (v[v.len() - 2], v[v.len() - 1]);
                if step == 'L' {
                    out.push((at, to));
                }
                at = to;
            }
        }
    }
    out
}

/// The box of a circle: two half turns from its left to its right and back.
fn ring(d: &str) -> Option<Bx> {
    let (from, rest) = d.strip_prefix('M')?.split_once('A')?;
    let (at, v) = (numbers(from.trim()), numbers(rest.split(['A', 'L', 'C', 'Z']).next()?.trim()));
    let (y, radius) = (at[1], v[0]);
    Some(Bx { x: at[0].min(v[5]), y: y - radius, r: at[0].max(v[5]), b: y + radius })
}

struct Flag {
    of: String,
    at: Bx,
    end: Option<P>,
}

/// What of one sheet is wrong.
pub fn wrong(text: &str, report: &Report) -> Vec<String> {
    let doc = Document::parse(text).expect("XML");
    let root = doc.root_element();
    let sheet = root.attribute("data-sheet").unwrap_or_default().to_owned();
    let all = || root.descendants().filter(Node::is_element);
    let Some(layer) = all().find(|n| n.attribute("id") == Some("layer-findings")) else {
        return Vec::new();
    };
    let is_mark = |n: &Node| n.ancestors().any(|a| a == layer);
    let flags: Vec<Flag> = all()
        .filter_map(|n| {
            let of = n.attribute("data-flag-of")?.to_owned();
            let end = n.attribute("data-end").map(numbers).map(|v| (v[0], v[1]));
            Some(Flag { of, at: Bx::of(&n), end })
        })
        .collect();
    let words: String = layer.descendants().filter_map(|n| n.text()).collect::<Vec<_>>().join(" ");
    // Each thing as the boxes that it is made of; a pipe's straights and rings have no breadth.
    let mut things: BTreeMap<String, Vec<Bx>> = BTreeMap::new();
    let mut labels: BTreeMap<String, Vec<Bx>> = BTreeMap::new();
    let mut bodies: Vec<(String, Bx)> = Vec::new();
    let (mut rows, mut strokes): (Vec<Bx>, Vec<(P, P)>) = (Vec::new(), Vec::new());
    for n in all().filter(|n| !is_mark(n)) {
        if let Some(tag) = n.attribute("data-part") {
            things.entry(tag.to_owned()).or_default().push(Bx::of(&n));
            bodies.push((tag.to_owned(), Bx::of(&n)));
        }
        if let Some(of) = n.attribute("data-label-of") {
            labels.entry(of.to_owned()).or_default().push(Bx::of(&n));
        }
        let own = n.attribute("data-pipe").or_else(|| n.attribute("data-of"));
        let inner = || n.parent().and_then(|p| p.attribute("data-of").map(str::to_owned));
        let drawn: Vec<(P, P)> = n.attribute("d").map(lines).unwrap_or_default();
        if let Some(of) = own.map(str::to_owned).or_else(inner) {
            let list = things.entry(of).or_default();
            list.extend(drawn.iter().map(|(a, b)| Bx::between(*a, *b)));
            list.extend(n.attribute("d").and_then(ring));
        }
        let in_frame = n.ancestors().any(|a| a.attribute("id") == Some("layer-frame"));
        if n.attribute("stroke").is_some() && !in_frame {
            strokes.extend(drawn.iter().copied());
        }
        if n.ancestors().any(|a| a.attribute("data-dimension").is_some()) && n.has_attribute("d") {
            rows.extend(drawn.iter().map(|(a, b)| Bx::between(*a, *b)));
        }
    }
    let mut bad = Vec::new();
    let mut complain = |what: String| bad.push(format!("{sheet}: {what}"));
    for Flag { of, at, end } in &flags {
        let none = Vec::new();
        let own = things.get(of).unwrap_or(&none);
        let near = own.iter().chain(labels.get(of).unwrap_or(&none));
        let far = near.map(|b| b.gap(at)).fold(f64::INFINITY, f64::min);
        let on_own = |p: &P| own.iter().any(|b| b.gap(&Bx::at(*p)) < 0.8);
        match end {
            Some(end) if !on_own(end) => complain(format!("the mark of {of} points at nothing")),
            None if far > 0.0 => complain(format!("the mark of {of} points nowhere")),
            _ => {}
        }
        for (tag, body) in bodies.iter().filter(|(tag, _)| tag != of) {
            let wide = (body.r - body.x).min(body.b - body.y) >= WIDE;
            let stands_on = end.map_or(wide, |end| body.gap(&Bx::at(end)) <= 0.0);
            // On a wide face labels of others stand too: there the tail tells whose it is.
            let on_face = wide && end.is_some() && body.meets(at);
            // What is fitted on a body stands by it.
            let fitted = own.iter().any(|b| b.gap(body) <= 0.0);
            let gap = body.gap(at);
            if !stands_on && !on_face && !fitted && gap < CLEAR && gap < far - TIE {
                complain(format!("the mark of {of} stands by {tag} ({gap:.1} mm, {far:.1} off)"));
            }
        }
        if strokes.iter().any(|(a, b)| at.is_struck(*a, *b)) {
            complain(format!("the mark of {of} is struck by a line"));
        }
        if rows.iter().any(|row| row.gap(at) < 2.0) {
            complain(format!("the mark of {of} stands among the dimensions"));
        }
        if flags.iter().any(|other| !std::ptr::eq(&other.at, at) && other.at.meets(at)) {
            complain(format!("the mark of {of} lies on another"));
        }
    }
    if sheet.starts_with("wiring") {
        return bad;
    }
    for f in report.findings.iter().filter(|f| f.severity != Severity::Advice) {
        if !words.contains(f.rule) {
            complain(format!("{} is told neither by a mark nor by the key", f.rule));
        }
        for (i, part) in f.parts.iter().take(MOST).enumerate() {
            let is_body = bodies.iter().any(|(tag, _)| tag == part);
            let is_store = is_body && part.starts_with("CYL");
            let told = flags.iter().any(|f| f.of == *part) || words.contains(&format!("{part} ("));
            if is_body && !told && (i == 0 || !is_store) {
                complain(format!("{part}, which {} names, bears no mark", f.rule));
            }
        }
    }
    bad
}
