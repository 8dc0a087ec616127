//! A sheet judged from its SVG text alone: what must be nought is counted again here, without the
//! program's own measure. ISO 5457 frame and ISO 3098 letters are from memory; the rest is the
//! drawing contract.

use std::collections::{BTreeMap, BTreeSet};

use firstfix::lettering::{CAP_HEIGHT, Weight, width};
use roxmltree::{Document, Node};

const HAIR: f64 = 0.02;

#[derive(Clone, Copy, Debug)]
struct Bx {
    x: f64,
    y: f64,
    w: f64,
    h: f64,
}

impl Bx {
    fn of(text: &str) -> Bx {
        let n = numbers(text);
        Bx { x: n[0], y: n[1], w: n[2], h: n[3] }
    }

    fn meets(&self, o: &Bx) -> bool {
        self.x + HAIR < o.x + o.w
            && o.x + HAIR < self.x + self.w
            && self.y + HAIR < o.y + o.h
            && o.y + HAIR < self.y + self.h
    }

    fn holds(&self, o: &Bx) -> bool {
        o.x >= self.x - HAIR
            && o.y >= self.y - HAIR
            && o.x + o.w <= self.x + self.w + HAIR
            && o.y + o.h <= self.y + self.h + HAIR
    }

    /// Does any of a fine row of points along the segment lie inside?
    fn crossed_by(&self, s: &[(f64, f64)]) -> bool {
        let (a, b) = (s[0], s[1]);
        let steps = (((b.0 - a.0).abs() + (b.1 - a.1).abs()) / 0.2).ceil().max(1.0) as usize;
        (0..=steps).any(|i| {
            let t = i as f64 / steps as f64;
            let (x, y) = (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t);
            x > self.x + HAIR
                && x < self.x + self.w - HAIR
                && y > self.y + HAIR
                && y < self.y + self.h - HAIR
        })
    }
}

fn numbers(text: &str) -> Vec<f64> {
    text.split([' ', ',']).filter(|t| !t.is_empty()).map(|t| t.parse().unwrap()).collect()
}

/// `M1 2 L3 4 …` and nothing else.
fn points(d: &str) -> Vec<(f64, f64)> {
    d.split(['M', 'L'])
        .filter(|t| !t.trim().is_empty())
        .map(|t| {
            let n = numbers(t.trim());
            assert_eq!(n.len(), 2, "a pipe holds only absolute moves and lines: {d}");
            (n[0], n[1])
        })
        .collect()
}

struct Pipe {
    id: String,
    ends: [String; 2],
    size: String,
    service: String,
    points: Vec<(f64, f64)>,
    real: Option<Vec<Vec<f64>>>,
    scale: Option<f64>,
}

/// Tag, box, real box, scale.
type Body = (String, Bx, Option<Vec<f64>>, Option<f64>);

struct Read {
    sheet: String,
    scale: Option<f64>,
    parts: Vec<Body>,
    pipes: Vec<Pipe>,
    labels: Vec<(String, Bx)>,
    arrows: BTreeSet<String>,
}

fn attribute<'a>(n: &Node<'a, '_>, name: &str) -> &'a str {
    n.attribute(name).unwrap_or_else(|| panic!("{} lacks {name}", n.tag_name().name()))
}

/// That of the view a thing is drawn in: the nearest that says one.
fn scale_of(n: &Node) -> Option<f64> {
    n.ancestors().find_map(|a| a.attribute("data-scale")).and_then(|s| s.parse().ok())
}

fn read(doc: &Document) -> Read {
    let root = doc.root_element();
    let mut r = Read {
        sheet: attribute(&root, "data-sheet").to_owned(),
        scale: attribute(&root, "data-scale").parse().ok(),
        parts: Vec::new(),
        pipes: Vec::new(),
        labels: Vec::new(),
        arrows: BTreeSet::new(),
    };
    for n in root.descendants().filter(Node::is_element) {
        if let Some(tag) = n.attribute("data-part") {
            assert_eq!(
                n.first_element_child().map(|c| c.tag_name().name().to_owned()).as_deref(),
                Some("title"),
                "the first child of {tag} is its title"
            );
            assert!(n.attribute("data-kind").is_some());
            let real = n.attribute("data-real").map(numbers);
            r.parts.push((tag.to_owned(), Bx::of(attribute(&n, "data-box")), real, scale_of(&n)));
        }
        if let Some(id) = n.attribute("data-pipe") {
            let tag = |end: &str| end.rsplit_once('.').unwrap().0.to_owned();
            r.pipes.push(Pipe {
                id: id.to_owned(),
                ends: [tag(attribute(&n, "data-from")), tag(attribute(&n, "data-to"))],
                size: attribute(&n, "data-size").to_owned(),
                service: attribute(&n, "data-service").to_owned(),
                points: points(attribute(&n, "d")),
                real: n.attribute("data-real").map(|t| t.split(' ').map(numbers).collect()),
                scale: scale_of(&n),
            });
        }
        if let Some(of) = n.attribute("data-label-of") {
            r.labels.push((of.to_owned(), Bx::of(attribute(&n, "data-box"))));
        }
        if let Some(of) = n.attribute("data-arrow-of") {
            r.arrows.insert(of.to_owned());
        }
    }
    r
}

fn each_pair<T>(all: &[T], mut f: impl FnMut(&T, &T)) {
    for (i, a) in all.iter().enumerate() {
        for b in &all[i + 1..] {
            f(a, b);
        }
    }
}

/// Faults of one sheet in words.
fn faults(r: &Read) -> Vec<String> {
    let mut bad = Vec::new();
    let s = &r.sheet;
    if r.scale.is_none() && s != "isometric" {
        each_pair(&r.parts, |a, b| {
            if a.0 != b.0 && a.1.meets(&b.1) {
                bad.push(format!("{s}: {} over {}", a.0, b.0));
            }
        });
        for p in &r.pipes {
            for (tag, bx, ..) in r.parts.iter().filter(|(t, ..)| !p.ends.contains(t)) {
                if p.points.windows(2).any(|w| bx.crossed_by(w)) {
                    bad.push(format!("{s}: pipe {} through {tag}", p.id));
                }
            }
        }
        each_pair(&r.pipes, |a, b| {
            let along = a.points.windows(2).any(|p| b.points.windows(2).any(|q| one_line(p, q)));
            if a.id != b.id && along {
                bad.push(format!("{s}: pipes {} and {} on one line", a.id, b.id));
            }
        });
        for p in &r.pipes {
            for w in p.points.windows(2) {
                if (w[0].0 - w[1].0).abs() > HAIR && (w[0].1 - w[1].1).abs() > HAIR {
                    bad.push(format!("{s}: pipe {} runs aslant", p.id));
                }
            }
        }
    }
    each_pair(&r.labels, |a, b| {
        if a.1.meets(&b.1) {
            bad.push(format!("{s}: labels of {} and {} overlap", a.0, b.0));
        }
    });
    for (of, bx) in &r.labels {
        if r.parts.iter().any(|(t, p, ..)| t == of && p.holds(bx)) {
            continue;
        }
        // To scale, a label may stand on the face of a body that is 25 mm wide and high or more.
        let on_face = |p: &Bx| r.scale.is_some() && p.w.min(p.h) >= 25.0 && p.holds(bx);
        for (tag, p, ..) in r.parts.iter().filter(|(t, ..)| t != of) {
            if p.meets(bx) && !on_face(p) {
                bad.push(format!("{s}: label of {of} over {tag}"));
            }
        }
        for p in r.pipes.iter().filter(|p| p.id != *of) {
            if p.points.windows(2).any(|w| bx.crossed_by(w)) {
                bad.push(format!("{s}: label of {of} over pipe {}", p.id));
            }
        }
    }
    bad.extend(bare_runs(r));
    if r.scale.is_some() {
        bad.extend(off_scale(r));
        bad.extend(solids(r));
        bad.extend(loose_ends(r));
    }
    bad
}

fn one_line(p: &[(f64, f64)], q: &[(f64, f64)]) -> bool {
    let same = |a: f64, b: f64| (a - b).abs() < HAIR;
    let lap = |a: f64, b: f64, c: f64, d: f64| a.max(b).min(c.max(d)) - a.min(b).max(c.min(d));
    let level = same(p[0].1, p[1].1) && same(q[0].1, q[1].1) && same(p[0].1, q[0].1);
    let plumb = same(p[0].0, p[1].0) && same(q[0].0, q[1].0) && same(p[0].0, q[0].0);
    (level && lap(p[0].0, p[1].0, q[0].0, q[1].0) > HAIR)
        || (plumb && lap(p[0].1, p[1].1, q[0].1, q[1].1) > HAIR)
}

/// Runs through fittings with two pipes of one size and service: each needs a label and an arrow.
/// On scaled sheets only straights over 300 mm do.
fn bare_runs(r: &Read) -> Vec<String> {
    let mut group: BTreeMap<&str, usize> = BTreeMap::new();
    for p in &r.pipes {
        let n = group.len();
        group.entry(&p.id).or_insert(n);
    }
    loop {
        let mut changed = false;
        let tags: BTreeSet<&String> = r.pipes.iter().flat_map(|p| &p.ends).collect();
        for tag in tags {
            let meeting: BTreeMap<&str, &Pipe> = r
                .pipes
                .iter()
                .filter(|p| p.ends.contains(tag))
                .map(|p| (p.id.as_str(), p))
                .collect();
            if meeting.len() != 2 {
                continue;
            }
            let two: Vec<&&Pipe> = meeting.values().collect();
            if two[0].size != two[1].size || two[0].service != two[1].service {
                continue;
            }
            let (a, b) = (group[two[0].id.as_str()], group[two[1].id.as_str()]);
            if a != b {
                for g in group.values_mut().filter(|g| **g == a.max(b)) {
                    *g = a.min(b);
                }
                changed = true;
            }
        }
        if !changed {
            break;
        }
    }
    let long = |p: &Pipe| {
        // What runs towards the eye is a dot: only straights on paper count.
        p.scale.is_none_or(|s| {
            p.points
                .windows(2)
                .any(|w| ((w[0].0 - w[1].0).abs() + (w[0].1 - w[1].1).abs()) * s > 301.0)
        })
    };
    let groups: BTreeSet<usize> = group.values().copied().collect();
    let mut bad = Vec::new();
    for g in groups {
        let members: Vec<&Pipe> = r.pipes.iter().filter(|p| group[p.id.as_str()] == g).collect();
        if !members.iter().any(|p| long(p)) {
            continue;
        }
        let named = members.iter().any(|p| r.labels.iter().any(|(of, _)| *of == p.id));
        let pointed = members.iter().any(|p| r.arrows.contains(&p.id));
        if !named || !pointed {
            let what = if named { "an arrow" } else { "a label" };
            bad.push(format!("{}: the run of {} lacks {what}", r.sheet, members[0].id));
        }
    }
    bad.extend(
        r.pipes.iter().filter(|p| p.size.is_empty()).map(|p| format!("{} has no size", p.id)),
    );
    bad
}

fn off_scale(r: &Read) -> Vec<String> {
    let off = |scale: f64, paper: f64, real: f64| (paper - real / scale).abs() > 0.1;
    let mut bad = Vec::new();
    for (tag, bx, real, scale) in &r.parts {
        let (Some(n), Some(scale)) = (real, scale) else { continue };
        let far = |paper: f64, real: f64| off(*scale, paper, real);
        let sides = [(n[3], n[5]), (n[3], n[4]), (n[4], n[5])];
        if sides.iter().all(|(a, b)| far(bx.w, *a) || far(bx.h, *b)) {
            bad.push(format!("{}: {tag} is off scale", r.sheet));
        }
    }
    let spread = |v: Vec<f64>| {
        v.iter().copied().fold(f64::MIN, f64::max) - v.iter().copied().fold(f64::MAX, f64::min)
    };
    for p in &r.pipes {
        let (Some(real), Some(scale)) = (&p.real, p.scale) else { continue };
        let far = |paper: f64, real: f64| off(scale, paper, real);
        let w = spread(p.points.iter().map(|q| q.0).collect());
        let h = spread(p.points.iter().map(|q| q.1).collect());
        let of = |k: usize| spread(real.iter().map(|q| q[k]).collect());
        if [(0, 2), (0, 1), (1, 2)].iter().all(|(a, b)| far(w, of(*a)) || far(h, of(*b))) {
            bad.push(format!("{}: pipe {} is off scale", r.sheet, p.id));
        }
    }
    bad
}

/// A pipe ends in the bodies it joins: within 1 mm of the box of each, in all three directions.
fn loose_ends(r: &Read) -> Vec<String> {
    let mut bad = Vec::new();
    for p in &r.pipes {
        let Some(real) = p.real.as_ref().filter(|points| !points.is_empty()) else { continue };
        for (tag, at) in p.ends.iter().zip([&real[0], &real[real.len() - 1]]) {
            let body = r.parts.iter().find(|(t, ..)| t == tag).and_then(|(_, _, n, _)| n.as_ref());
            let off = |n: &Vec<f64>| {
                (0..3)
                    .map(|k| (at[k] - at[k].clamp(n[k], n[k] + n[k + 3])).abs())
                    .fold(0.0, f64::max)
            };
            if let Some(by) = body.map(off).filter(|by| *by > 1.0) {
                bad.push(format!("{}: pipe {} ends {by:.1} mm off {tag}", r.sheet, p.id));
            }
        }
    }
    bad
}

fn solids(r: &Read) -> Vec<String> {
    let boxes: BTreeMap<&str, &Vec<f64>> =
        r.parts.iter().filter_map(|(t, _, n, _)| n.as_ref().map(|n| (t.as_str(), n))).collect();
    let boxes: Vec<(&str, &Vec<f64>)> = boxes.into_iter().collect();
    let mut bad = Vec::new();
    each_pair(&boxes, |a, b| {
        let apart =
            |k: usize| a.1[k] >= b.1[k] + b.1[k + 3] - 0.5 || b.1[k] >= a.1[k] + a.1[k + 3] - 0.5;
        if !(0..3).any(apart) {
            bad.push(format!("{}: solid {} through {}", r.sheet, a.0, b.0));
        }
    });
    bad
}

/// Letters are at least 2.5 mm high (capitals; 0.698 of the em in this face) and stay in the frame
/// with its strip of 5 mm; numbers carry at most three decimals and no minus nought.
fn text_rules(doc: &Document) -> Vec<String> {
    let root = doc.root_element();
    let sheet = attribute(&root, "data-sheet").to_owned();
    let paper = numbers(attribute(&root, "viewBox"));
    let mut bad = Vec::new();
    for n in root.descendants().filter(|n| n.has_tag_name("text")) {
        let size: f64 = attribute(&n, "font-size").parse().unwrap();
        if size * 0.698 < 2.5 - 0.01 {
            bad.push(format!("{sheet}: {:?} is too small", n.text()));
        }
        let (x, y): (f64, f64) =
            (attribute(&n, "x").parse().unwrap(), attribute(&n, "y").parse().unwrap());
        if x < 5.0 || x > paper[2] - 5.0 || y < 5.0 || y > paper[3] - 5.0 {
            bad.push(format!("{sheet}: {:?} is outside the frame", n.text()));
        }
    }
    // Numbers of the drawing itself; what is printed on it may carry more figures.
    let values = root.descendants().flat_map(|n| n.attributes()).map(|a| a.value());
    for token in values.flat_map(|v| v.split([' ', ',', 'M', 'L', 'A', 'C'])) {
        let decimals = token.split_once('.').map(|(_, d)| d);
        if token == "-0" || (token.parse::<f64>().is_ok() && decimals.is_some_and(|d| d.len() > 3))
        {
            bad.push(format!("{sheet}: number {token}"));
        }
    }
    bad
}

/// Where the marks of an element lie: the corners of a path of straight lines, the foot of a text,
/// the corners of the box of a label.
fn feet(n: &Node) -> Vec<(f64, f64)> {
    let number = |name: &str| n.attribute(name).and_then(|v| v.parse::<f64>().ok());
    if n.has_tag_name("path") {
        let d = attribute(n, "d").trim_end_matches([' ', 'Z']);
        return if d.contains(['A', 'C', 'Z']) { Vec::new() } else { points(d) };
    }
    let boxed = n.attribute("data-label-of").map(|_| Bx::of(attribute(n, "data-box")));
    let corners = boxed.map(|b| vec![(b.x, b.y), (b.x + b.w, b.y + b.h)]);
    corners.or(number("x").zip(number("y")).map(|p| vec![p])).unwrap_or_default()
}

/// The box of a line of text: from the height of a capital down to the baseline, as long as the
/// embedded face sets it.
fn line_box(n: &Node) -> Bx {
    let number = |name: &str| -> f64 { attribute(n, name).parse().unwrap() };
    let (x, y, high) = (number("x"), number("y"), number("font-size") * CAP_HEIGHT);
    let weight = if n.attribute("font-weight").is_some() { Weight::Bold } else { Weight::Regular };
    let wide = width(n.text().unwrap_or_default(), high, weight);
    let from = match n.attribute("text-anchor") {
        Some("middle") => -wide / 2.0,
        Some("end") => -wide,
        _ => 0.0,
    };
    match n.attribute("transform") {
        None => Bx { x: x + from, y: y - high, w: wide, h: high },
        // Upwards, its feet to the right.
        Some(turn) => {
            assert!(turn.starts_with("rotate(-90 "), "{turn}");
            Bx { x: x - high, y: y - from - wide, w: high, h: wide }
        }
    }
}

/// No line of words lies on another, labelled or not.
fn words_over_words(doc: &Document) -> Vec<String> {
    let root = doc.root_element();
    let sheet = attribute(&root, "data-sheet").to_owned();
    let texts = root.descendants().filter(|n| n.has_tag_name("text"));
    let mut lines: Vec<(&str, Bx)> = texts
        .map(|n| (n.text().unwrap_or_default(), line_box(&n)))
        .filter(|(_, b)| b.w > HAIR)
        .collect();
    lines.sort_by(|a, b| a.1.y.total_cmp(&b.1.y));
    let mut bad = Vec::new();
    for (i, (a, at)) in lines.iter().enumerate() {
        let near = lines[i + 1..].iter().take_while(|(_, b)| b.y < at.y + at.h);
        bad.extend(
            near.filter(|(_, b)| at.meets(b)).map(|(b, _)| format!("{sheet}: {a:?} over {b:?}")),
        );
    }
    bad
}

/// What the sheet itself draws stays inside the frame and off the title block or strip, whose words
/// are those of the layer of the frame that stand within it.
fn off_the_drawing(doc: &Document) -> Vec<String> {
    let root = doc.root_element();
    let sheet = attribute(&root, "data-sheet").to_owned();
    let layer = |n: &Node| n.ancestors().any(|a| a.attribute("id") == Some("layer-frame"));
    let (framed, drawn): (Vec<Node>, Vec<Node>) = root
        .descendants()
        .filter(|n| n.has_tag_name("path") || n.has_tag_name("text"))
        .partition(layer);
    let around = |at: &[(f64, f64)]| {
        let least = at.iter().fold((f64::MAX, f64::MAX), |m, p| (m.0.min(p.0), m.1.min(p.1)));
        let most = at.iter().fold((f64::MIN, f64::MIN), |m, p| (m.0.max(p.0), m.1.max(p.1)));
        Bx { x: least.0, y: least.1, w: most.0 - least.0, h: most.1 - least.1 }
    };
    let frame = framed
        .iter()
        .filter(|n| n.attribute("stroke-width") == Some("0.7"))
        .map(|n| around(&feet(n)))
        .max_by(|a, b| (a.w * a.h).total_cmp(&(b.w * b.h)))
        .expect("a sheet has a frame");
    let at = |p: &(f64, f64)| Bx { x: p.0, y: p.1, w: 0.0, h: 0.0 };
    // From the foot of a word up by its em: as far as the line above it.
    let up = |n: &Node, p: (f64, f64)| {
        let em: f64 = attribute(n, "font-size").parse().unwrap();
        [p, (p.0, p.1 - em)]
    };
    let words = framed.iter().filter(|n| n.has_tag_name("text"));
    let within = words.flat_map(|n| feet(n).into_iter().map(move |p| (n, p)));
    let within = within.filter(|(_, p)| frame.holds(&at(p)));
    let block = around(&within.flat_map(|(n, p)| up(n, p)).collect::<Vec<_>>());
    // The paper itself is the only mark as large as the frame.
    let own = drawn.iter().filter(|n| !(n.has_tag_name("path") && around(&feet(n)).holds(&frame)));
    own.flat_map(|n| feet(n).into_iter().map(move |p| (n, p)))
        .filter(|(_, p)| !frame.holds(&at(p)) || block.meets(&at(p)))
        .map(|(n, p)| {
            let what = n.text().or(n.attribute("data-pipe")).unwrap_or("a line");
            format!("{sheet}: {what:?} at {p:?} is off the drawing")
        })
        .collect()
}

/// Everything that is wrong with one sheet, in words.
pub fn wrong(text: &str) -> Vec<String> {
    let doc = Document::parse(text).expect("the sheet is well-formed");
    let root = doc.root_element();
    let mut bad = Vec::new();
    if root.first_element_child().is_none_or(|c| !c.has_tag_name("title")) {
        bad.push("the title is not the first child".to_owned());
    }
    if root.attribute("role") != Some("img") {
        bad.push("the sheet has no role".to_owned());
    }
    bad.extend(faults(&read(&doc)));
    bad.extend(text_rules(&doc));
    bad.extend(words_over_words(&doc));
    bad.extend(off_the_drawing(&doc));
    bad
}
