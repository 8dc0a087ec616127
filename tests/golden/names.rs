//! The names of pipes on scaled views judged from a sheet's SVG text alone: each reads as its own
//! pipe's, no leader as a pipe, no two pipes as one. What is seen of a pipe is found as the painter
//! left it: what a later element covers is not seen.

use std::collections::{BTreeMap, BTreeSet};

use roxmltree::{Document, Node, NodeId};

/// Between two points at which a pipe is looked at, mm on paper.
const STEP: f64 = 0.4;
/// As near as this a difference says nothing, mm.
const TIE: f64 = 0.3;
/// A body so wide and high carries on its face the names of what crosses it, mm.
const WIDE: f64 = 25.0;
/// Words with a leader nearer than this to a pipe read as its; without one, nearer than this at most.
const CLOSE: f64 = 1.0;
const BESIDE: f64 = 2.5;
/// A shorter leader is no pipe, mm; as much of a pipe in clear sight is enough to point at.
const SHORT: f64 = 4.0;
const ENOUGH: f64 = 6.0;
/// Two arrows farther apart are not read together, mm; a gap so long parts them.
const TOGETHER: f64 = 40.0;
const PARTED: f64 = 2.0;

type P = (f64, f64);
type Axis = fn(P) -> f64;

fn distance(a: P, b: P) -> f64 {
    ((a.0 - b.0) * (a.0 - b.0) + (a.1 - b.1) * (a.1 - b.1)).sqrt()
}

/// Left, top, right, bottom.
#[derive(Clone, Copy)]
struct Bx(f64, f64, f64, f64);

impl Bx {
    fn of(n: &Node) -> Bx {
        let v = numbers(n.attribute("data-box").expect("a box"));
        Bx(v[0], v[1], v[0] + v[2], v[1] + v[3])
    }

    fn holds(&self, p: P, by: f64) -> bool {
        p.0 > self.0 - by && p.0 < self.2 + by && p.1 > self.1 - by && p.1 < self.3 + by
    }

    fn meets(&self, o: &Bx) -> bool {
        const HAIR: f64 = 0.1;
        self.0 + HAIR < o.2 && o.0 + HAIR < self.2 && self.1 + HAIR < o.3 && o.1 + HAIR < self.3
    }

    fn is_small(&self) -> bool {
        (self.2 - self.0).min(self.3 - self.1) < WIDE
    }
}

fn numbers(text: &str) -> Vec<f64> {
    let parts = text.split(|c: char| c == ' ' || c == ',' || c.is_ascii_alphabetic());
    parts.filter(|t| !t.is_empty()).map(|t| t.parse().expect("a number")).collect()
}

fn points(d: &str) -> Vec<P> {
    numbers(d).chunks(2).map(|p| (p[0], p[1])).collect()
}

/// What covers what was painted before it.
enum Cover {
    Box(Bx),
    Circle(P, f64),
}

/// A place where a pipe is seen: half its width there, and whether it runs up the sheet.
struct Seen {
    at: P,
    half: f64,
    up: bool,
}

impl Seen {
    fn gap(&self, b: &Bx) -> f64 {
        let half = STEP / 2.0;
        let (w, h) = if self.up { (self.half, half) } else { (half, self.half) };
        let x = (b.0 - self.at.0 - w).max(self.at.0 - w - b.2).max(0.0);
        let y = (b.1 - self.at.1 - h).max(self.at.1 - h - b.3).max(0.0);
        (x * x + y * y).sqrt()
    }
}

struct Name {
    of: String,
    text: String,
    at: Bx,
    up: bool,
    leader: Option<Vec<P>>,
}

#[derive(Default)]
struct Read {
    called: BTreeMap<String, String>,
    /// What each pipe is joined to.
    ends: BTreeMap<String, [String; 2]>,
    bodies: Vec<(String, Bx)>,
    names: Vec<Name>,
    /// Of which pipe, where, and whether it points up or down the sheet.
    arrows: Vec<(String, P, bool)>,
    /// Where a pipe is broken off.
    waves: Vec<P>,
    seen: BTreeMap<String, Vec<Seen>>,
}

/// The view that a thing is drawn in: the nearest that says its scale.
fn view_of(n: &Node) -> Option<NodeId> {
    n.ancestors().find(|a| a.attribute("data-scale").is_some()).map(|a| a.id())
}

fn read(doc: &Document, view: NodeId) -> Read {
    let mut r = Read::default();
    let mut covers: Vec<(usize, String, Cover)> = Vec::new();
    let mut strips: Vec<(usize, String, P, P, f64)> = Vec::new();
    let mut last: Vec<(usize, String, Vec<P>)> = Vec::new();
    let all = doc.root_element().descendants().filter(Node::is_element);
    for (order, n) in all.filter(|n| view_of(n) == Some(view)).enumerate() {
        let of = n.attribute("data-of").unwrap_or_default().to_owned();
        if let Some(tag) = n.attribute("data-part") {
            r.bodies.push((tag.to_owned(), Bx::of(&n)));
        }
        if let Some(id) = n.attribute("data-pipe") {
            let word = |name: &str| n.attribute(name).unwrap_or_default();
            let tag = |name: &str| word(name).split('.').next().unwrap_or_default().to_owned();
            r.ends.insert(id.to_owned(), [tag("data-from"), tag("data-to")]);
            r.called
                .insert(id.to_owned(), format!("{} {}", word("data-size"), word("data-service")));
        }
        if let Some(of) = n.attribute("data-arrow-of") {
            let p = points(n.attribute("d").unwrap_or_default());
            let mean = |k: fn(&P) -> f64| p[..3].iter().map(k).sum::<f64>() / 3.0;
            let up = matches!(n.attribute("data-direction"), Some("90" | "270"));
            r.arrows.push((of.to_owned(), (mean(|p| p.0), mean(|p| p.1)), up));
        }
        if let Some(of) = n.attribute("data-label-of") {
            // A leader and its dot are painted right before their words, or white between.
            let led = last.iter().rev().find(|(at, id, _)| order - at <= 3 && id == of);
            r.names.push(Name {
                of: of.to_owned(),
                text: n.text().unwrap_or_default().to_owned(),
                at: Bx::of(&n),
                up: n.attribute("transform").is_some_and(|t| t.contains("rotate")),
                leader: led.map(|(_, _, p)| p.clone()),
            });
        }
        let Some(d) = n.attribute("d") else { continue };
        let (fill, stroke) = (n.attribute("fill"), n.attribute("stroke"));
        let wide: f64 = n.attribute("stroke-width").map_or(0.0, |w| w.parse().expect("a width"));
        let dash = n.attribute("stroke-dasharray");
        let owner =
            n.ancestors().find_map(|a| a.attribute("data-part")).map_or(of.clone(), str::to_owned);
        if fill == Some("#ffffff") {
            let v = numbers(d);
            let cover = if d.contains('A') {
                Cover::Circle((v[0] + v[2], v[1]), v[2])
            } else {
                let of = |k: usize, least: bool| {
                    let all = v.iter().skip(k).step_by(2).copied();
                    if least { all.fold(f64::MAX, f64::min) } else { all.fold(f64::MIN, f64::max) }
                };
                Cover::Box(Bx(of(0, true), of(1, true), of(0, false), of(1, false)))
            };
            covers.push((order, owner, cover));
            continue;
        }
        if fill != Some("none") || of.is_empty() || d.contains('A') {
            continue;
        }
        let p = points(d);
        let black = stroke == Some("#000000");
        if d.contains('C') {
            if !black {
                let mid = |k: fn(&P) -> f64| p.iter().map(k).sum::<f64>() / p.len() as f64;
                r.waves.push((mid(|p| p.0), mid(|p| p.1)));
            }
        } else if black && (wide - 0.25).abs() < 1e-6 && dash.is_none() {
            last.push((order, of, p));
        } else if wide >= 0.7 {
            for w in p.windows(2) {
                let up = w[0].0 == w[1].0;
                let (x, y) = if up { (wide / 2.0, 0.0) } else { (0.0, wide / 2.0) };
                let b = Bx(
                    w[0].0.min(w[1].0) - x,
                    w[0].1.min(w[1].1) - y,
                    w[0].0.max(w[1].0) + x,
                    w[0].1.max(w[1].1) + y,
                );
                covers.push((order, of.clone(), Cover::Box(b)));
                if stroke != Some("#ffffff") {
                    strips.push((order, of.clone(), w[0], w[1], wide / 2.0));
                }
            }
        } else if dash == Some("2.4 0.9") && !black {
            // A hidden line, over everything.
            strips.push((usize::MAX, of, p[0], p[1], 0.15));
        }
    }
    for (order, of, a, b, half) in strips {
        let up = a.0 == b.0;
        let steps = (((a.0 - b.0).abs() + (a.1 - b.1).abs()) / STEP).max(1.0) as usize;
        for i in 0..steps {
            let t = (i as f64 + 0.5) / steps as f64;
            let p = (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t);
            let hidden = covers.iter().any(|(at, by, cover)| {
                *at > order
                    && *by != of
                    && match cover {
                        Cover::Box(b) => b.holds(p, 0.0),
                        Cover::Circle(c, r) => distance(p, *c) < *r,
                    }
            });
            if !hidden {
                r.seen.entry(of.clone()).or_default().push(Seen { at: p, half, up });
            }
        }
    }
    r.seen.retain(|id, _| r.called.contains_key(id));
    r
}

/// Everything that is wrong with the names on one sheet, in words.
pub fn wrong(text: &str) -> Vec<String> {
    let doc = Document::parse(text).expect("XML");
    let root = doc.root_element();
    let sheet = root.attribute("data-sheet").unwrap_or_default();
    let scaled = root.attribute("data-scale").is_some_and(|s| s != "none");
    if !scaled || !(sheet.starts_with("elevation") || sheet == "plan") {
        return Vec::new();
    }
    let mut bad: Vec<String> = Vec::new();
    let views = root.descendants().filter(|n| n.attribute("data-scale").is_some());
    for r in views.map(|n| read(&doc, n.id())) {
        for name in &r.names {
            match r.called.get(&name.of) {
                Some(called) => bad.extend(of_a_pipe(&r, name, called)),
                None => bad.extend(of_a_body(&r, name)),
            }
        }
        bad.extend(arrows(&r));
    }
    bad.into_iter().map(|b| format!("{sheet}: {b}")).collect()
}

fn of_a_pipe(r: &Read, name: &Name, called: &str) -> Vec<String> {
    let (mut bad, text) = (Vec::new(), &name.text);
    let none = Vec::new();
    let own = r.seen.get(&name.of).unwrap_or(&none);
    if own.is_empty() {
        return bad;
    }
    let off = |all: &[Seen]| all.iter().map(|s| s.gap(&name.at)).fold(f64::MAX, f64::min);
    let near = off(own);
    let along = |all: &[Seen], within: f64| {
        all.iter().filter(|s| s.up == name.up && s.gap(&name.at) < within).count() as f64 * STEP
    };
    let long = if name.up { name.at.3 - name.at.1 } else { name.at.2 - name.at.0 };
    let led = name.leader.is_some();
    for (id, all) in r.seen.iter().filter(|(id, _)| r.called[*id] != called) {
        let other = &r.called[id];
        if !led && off(all) + TIE < near {
            bad.push(format!("{text:?} stands nearer to {other}"));
        }
        let within = if led { CLOSE } else { near.min(BESIDE) };
        if along(all, within) > 0.6 * long && (led || along(own, BESIDE) < 0.3 * long) {
            bad.push(format!("{text:?} stands along {other}"));
        }
    }
    for (tag, b) in r.bodies.iter().filter(|(_, b)| b.meets(&name.at)) {
        if !own.iter().any(|s| b.holds(s.at, s.half)) {
            bad.push(format!("{text:?} stands in the box of {tag}"));
        }
    }
    let Some([from, to, ..]) = name.leader.as_deref() else { return bad };
    // A body that it joins, or that another covers there, is not taken for what it ends in.
    let joins = |tag: &String| r.ends.get(&name.of).is_some_and(|ends| ends.contains(tag));
    let small = || r.bodies.iter().enumerate().filter(|(_, (_, b))| b.is_small());
    if longest_clear(r, own) > ENOUGH {
        for (i, (tag, _)) in small().filter(|(_, (_, b))| b.holds(*from, 0.0)) {
            let covered = r.bodies[i + 1..].iter().any(|(_, b)| b.holds(*from, 0.0));
            if !joins(tag) && !covered {
                bad.push(format!("the leader of {text:?} ends in {tag}"));
            }
        }
    }
    let far = |s: &&Seen| distance(s.at, *from);
    let here = own.iter().min_by(|a, b| far(a).total_cmp(&far(b)));
    let (dx, dy) = ((from.0 - to.0).abs(), (from.1 - to.1).abs());
    if here.is_some_and(|s| if s.up { dx < 0.15 } else { dy < 0.15 }) && dx + dy > SHORT {
        bad.push(format!("the leader of {text:?} goes on as its pipe runs"));
    }
    bad
}

/// The longest stretch of a pipe that is seen, in full lines, off every small body.
fn longest_clear(r: &Read, own: &[Seen]) -> f64 {
    /// An arrow there would be the body's, mm.
    const OFF: f64 = 1.6;
    const HIDDEN: f64 = 0.2;
    let small: Vec<&Bx> = r.bodies.iter().map(|(_, b)| b).filter(|b| b.is_small()).collect();
    let (mut longest, mut run, mut last): (f64, f64, Option<P>) = (0.0, 0.0, None);
    for s in own {
        let clear = s.half > HIDDEN && !small.iter().any(|b| b.holds(s.at, OFF));
        let goes_on = last.is_some_and(|l| distance(l, s.at) < 2.0 * STEP);
        run = match (clear, goes_on) {
            (false, _) => 0.0,
            (true, true) => run + STEP,
            (true, false) => STEP,
        };
        last = clear.then_some(s.at);
        longest = longest.max(run);
    }
    longest
}

/// A tag without a leader inside what its own body does not meet.
fn of_a_body(r: &Read, name: &Name) -> Vec<String> {
    let own: Vec<&Bx> = r.bodies.iter().filter(|(t, _)| *t == name.of).map(|(_, b)| b).collect();
    let astray = |(tag, b): &&(String, Bx)| {
        *tag != name.of && b.meets(&name.at) && !own.iter().any(|o| o.meets(b))
    };
    let there = r.bodies.iter().filter(|_| name.leader.is_none()).filter(astray);
    there.map(|(tag, _)| format!("{:?} stands in the box of {tag}", name.text)).collect()
}

/// Two arrows of two pipes in one line, with nothing between that says where one ends.
fn arrows(r: &Read) -> Vec<String> {
    let mut bad = BTreeSet::new();
    for (i, (a, p, up)) in r.arrows.iter().enumerate() {
        for (b, q, _) in r.arrows[i + 1..].iter().filter(|(b, _, u)| b != a && u == up) {
            let (Some(x), Some(y)) = (r.called.get(a), r.called.get(b)) else { continue };
            let (along, across): (Axis, Axis) =
                if *up { (|p| p.1, |p| p.0) } else { (|p| p.0, |p| p.1) };
            let (low, high) = (along(*p).min(along(*q)), along(*p).max(along(*q)));
            if x == y || (across(*p) - across(*q)).abs() > 1.0 || high - low > TOGETHER {
                continue;
            }
            let line = f64::midpoint(across(*p), across(*q));
            let between = |at: P, by: f64| {
                (across(at) - line).abs() < by && (low - 0.5..=high + 0.5).contains(&along(at))
            };
            let broken = r.waves.iter().any(|w| between(*w, 2.0));
            let body = r.bodies.iter().any(|(_, b)| {
                let (from, to) = if *up { (b.1, b.3) } else { (b.0, b.2) };
                let (left, right) = if *up { (b.0, b.2) } else { (b.1, b.3) };
                from >= low - 0.5 && to <= high + 0.5 && left < line && line < right
            });
            let both = [a, b].into_iter().filter_map(|id| r.seen.get(id)).flatten();
            let mut inked: Vec<f64> = both
                .filter(|s| s.up == *up && between(s.at, 1.0))
                .map(|s| along(s.at))
                .chain([low, high])
                .collect();
            inked.sort_by(f64::total_cmp);
            let parted = inked.windows(2).any(|w| w[1] - w[0] > PARTED);
            if !broken && !body && !parted {
                bad.insert(format!("{x} and {y} run into each other at {:.0}, {:.0}", p.0, p.1));
            }
        }
    }
    bad.into_iter().collect()
}
