//! `cupboard` with its door, walls, floor and obstacles.

use super::fields::{Fields, Holds, MM};
use super::reader::{Decoder, take_children, take_flag, take_number, take_text};
use crate::describe::facts::{CupboardFacts, DoorFacts, Given, ObstacleFacts, WallFacts};
use crate::describe::quantity;
use crate::describe::tree::Node;
use crate::diagnostic::Diagnostic;
use crate::model::{Datum, Side};

pub fn cupboard(d: &mut Decoder, mut node: Node, slot: &mut Option<CupboardFacts>) {
    if !d.once(slot.is_some(), &node) {
        return;
    }
    let mut c = CupboardFacts { span: node.name_span.clone(), ..CupboardFacts::default() };
    for child in take_children(&mut node, &["door"]) {
        if d.once(c.door.is_some(), &child) {
            c.door = Some(door(d, child));
        }
    }
    for child in take_children(&mut node, &["wall", "ceiling"]) {
        c.walls.extend(wall(d, child));
    }
    for mut child in take_children(&mut node, &["floor"]) {
        let fields = Fields::new(&[
            ("kind", Holds::Text),
            ("build-up", MM),
            ("joists", Holds::Text),
            ("joist-size", Holds::Text),
            ("joist-width", MM),
            ("joist-depth", MM),
            ("centres", MM),
            ("first", MM),
            ("span", MM),
            ("hole", MM),
            ("hole-at", MM),
            ("notch", MM),
            ("notch-at", MM),
            ("spreader", Holds::Flag),
            ("load", Holds::Measure("kg")),
            ("material", Holds::Text),
            ("note", Holds::Text),
        ]);
        let mut p = d.properties(&mut child, &fields);
        if let Some(kind) = d.name(&mut child) {
            let kind = Given { value: Datum::Text(kind.value), span: kind.span, mark: kind.mark };
            p.insert("kind".to_owned(), kind);
        }
        if let Some(size) = take_text(&mut p, "joist-size") {
            match pair(&size.value) {
                Some((a, b)) => {
                    // The deeper figure stands upright.
                    for (key, value) in [("joist-width", a.min(b)), ("joist-depth", a.max(b))] {
                        let given = Given {
                            value: Datum::Number(value),
                            span: size.span.clone(),
                            mark: size.mark.clone(),
                        };
                        p.entry(key.to_owned()).or_insert(given);
                    }
                }
                None => d.say(
                    Diagnostic::error("not-a-number", size.span, "a joist has two sizes")
                        .label("expected width and depth, such as \"47x220\""),
                ),
            }
        }
        c.floor.extend(p);
        d.finish(child, &[]);
    }
    for child in take_children(&mut node, &["obstacle", "shelf", "duct", "steel"]) {
        c.obstacles.extend(obstacle(d, child));
    }
    let fields =
        Fields::new(&[("width", MM), ("depth", MM), ("height", MM), ("datum", Holds::Text)]);
    d.loose(&mut node, &fields);
    let mut p = d.properties(&mut node, &fields);
    c.width = take_number(&mut p, "width");
    c.depth = take_number(&mut p, "depth");
    c.height = take_number(&mut p, "height");
    c.datum = take_text(&mut p, "datum");
    if let Some(datum) = &c.datum
        && !["finish", "stud"].contains(&datum.value.as_str())
    {
        let (word, span) = (datum.value.clone(), datum.span.clone());
        c.datum = None;
        d.unknown("unknown-word", "sizes are taken to", &word, &span, ["finish", "stud"]);
    }
    d.finish(node, &["door", "wall", "floor", "obstacle"]);
    *slot = Some(c);
}

fn door(d: &mut Decoder, mut node: Node) -> DoorFacts {
    let fields = Fields::new(&[
        ("clear-width", MM),
        ("clear-height", MM),
        ("from-left", MM),
        ("hinge", Holds::Text),
        ("inward", Holds::Flag),
        ("width", MM),
        ("height", MM),
    ]);
    // A door is measured between its stops; `width` alone means just that.
    for p in &mut node.properties {
        match p.key.as_str() {
            "width" => p.key = "clear-width".to_owned(),
            "height" => p.key = "clear-height".to_owned(),
            "hinges" | "hung" => p.key = "hinge".to_owned(),
            "inwards" => p.key = "inward".to_owned(),
            _ => {}
        }
    }
    d.loose(&mut node, &fields);
    let mut p = d.properties(&mut node, &fields);
    let mut door = DoorFacts {
        clear_width: take_number(&mut p, "clear-width"),
        clear_height: take_number(&mut p, "clear-height"),
        from_left: take_number(&mut p, "from-left"),
        hinge: None,
        inward: take_flag(&mut p, "inward"),
        span: node.name_span.clone(),
    };
    if let Some(hinge) = take_text(&mut p, "hinge") {
        let value = Side::from_key(&hinge.value.to_lowercase());
        match value.filter(|s| matches!(s, Side::Left | Side::Right)) {
            Some(value) => door.hinge = Some(Given { value, span: hinge.span, mark: hinge.mark }),
            None => {
                let sides = ["left", "right"];
                d.unknown(
                    "unknown-word",
                    "a door is hung on its",
                    &hinge.value,
                    &hinge.span,
                    sides,
                );
            }
        }
    }
    d.finish(node, &[]);
    door
}

fn wall(d: &mut Decoder, mut node: Node) -> Option<WallFacts> {
    let fields = Fields::new(&[
        ("outside", Holds::Flag),
        ("thickness", MM),
        ("material", Holds::Text),
        ("lining", MM),
        ("covers", Holds::Text),
        ("note", Holds::Text),
        ("fire", Holds::Any),
        ("studs", MM),
        ("noggin", Holds::Flag),
    ]);
    let ceiling = node.name == "ceiling";
    node.name = "wall".to_owned();
    d.loose(&mut node, &fields);
    let mut p = d.properties(&mut node, &fields);
    let outside = take_flag(&mut p, "outside");
    let name_span = node.name_span.clone();
    let name = d.name(&mut node);
    d.finish(node, &[]);
    let side = match name {
        Some(name) => match Side::from_key(&name.value.to_lowercase()) {
            Some(side) => Given { value: side, span: name.span, mark: name.mark },
            None => {
                let sides = Side::ALL.map(Side::key);
                d.unknown("unknown-word", "no such wall", &name.value, &name.span, sides);
                return None;
            }
        },
        None if ceiling => {
            Given { value: Side::Ceiling, span: name_span, mark: Default::default() }
        }
        None => {
            d.say(
                Diagnostic::error("missing-value", name_span, "which wall?")
                    .label("such as `wall \"right\" outside=#true`"),
            );
            return None;
        }
    };
    Some(WallFacts { side, outside, properties: p })
}

fn obstacle(d: &mut Decoder, mut node: Node) -> Option<ObstacleFacts> {
    const KEYS: [&str; 6] = ["x", "y", "z", "width", "depth", "height"];
    let fields = Fields::new(&KEYS.map(|k| (k, MM)));
    let word = std::mem::replace(&mut node.name, "obstacle".to_owned());
    let mut p = d.properties(&mut node, &fields);
    let span = node.name_span.clone();
    let name = d.name(&mut node).unwrap_or(Given {
        value: word,
        span: span.clone(),
        mark: Default::default(),
    });
    d.finish(node, &[]);
    let mut numbers = Vec::new();
    let mut missing = Vec::new();
    for key in KEYS {
        match take_number(&mut p, key) {
            Some(n) => numbers.push(n),
            // In a corner, on the floor: nothing said means nought.
            None if matches!(key, "x" | "y" | "z") => {
                numbers.push(Given { value: 0.0, span: span.clone(), mark: Default::default() });
            }
            None => missing.push(key),
        }
    }
    match <[Given<f64>; 6]>::try_from(numbers) {
        Ok(numbers) if numbers[3..].iter().all(|n| n.value > 0.0) => {
            Some(ObstacleFacts { name, numbers, span })
        }
        _ => {
            let what =
                if missing.is_empty() { "width, depth, height" } else { &missing.join(", ") };
            d.say(
                Diagnostic::error("missing-value", span, "an obstacle needs its size")
                    .label(format!("say its {what} in mm")),
            );
            None
        }
    }
}

/// "47x220", "47 × 220 mm".
fn pair(text: &str) -> Option<(f64, f64)> {
    let (a, b) = text.split_once(['x', 'X', '×', '*'])?;
    let number = |t: &str| quantity::read(t, "mm").ok().filter(|n| *n > 0.0 && *n < 2000.0);
    Some((number(a)?, number(b)?))
}
