//! The plain JSON form of port graphs and of their drawings.
//!
//! In: `{"nodes":[{"id","w","h","ports":[{"id","side":"N|E|S|W","off"}],
//! "transforms":["mirror-x","mirror-y","turn"],"block"?}],
//! "edges":[{"id","from":"node.port","to":"node.port","rank"?}],"spacing":10}`. Wishes may be added:
//! a node's `"side":"N|E|S|W"`, and lists of nodes `"left-of"`, `"above"`, `"level-with"`; the
//! graph's `"sheet":[width, height]`.
//! Out: `{"nodes":{id:{"x","y","w","h","mirror","turn"}},"edges":{id:[[x,y],…]},"crossings",
//! "bends","length","ms"}`. `mirror-x` exchanges left and right; mirrors come before the turn.

use std::collections::BTreeMap;

use firstfix::layout::graph::{
    Drawing, End, Graph, Hint, Measures, Options, Pipe, Port, Side, Symbol, Transforms,
};
use serde_json::{Map, Value, json};

/// Steps of the engine in one unit of the file.
pub const FINE: i64 = 1000;

/// A graph as read, with the least distance between symbols in steps of the engine.
pub struct Read {
    pub graph: Graph,
    pub spacing: i64,
    /// Proportions of the sheet.
    pub sheet: Option<(i64, i64)>,
}

impl Read {
    pub fn options(&self) -> Options {
        Options { sheet: self.sheet, ..Options::for_spacing(self.spacing) }
    }
}

pub fn read(text: &str) -> Result<Read, String> {
    let value: Value = serde_json::from_str(text).map_err(|e| format!("not JSON: {e}"))?;
    let spacing = match value.get("spacing") {
        None => 10 * FINE,
        Some(v) => steps(v, "spacing")?,
    };
    if spacing <= 0 {
        return Err("spacing must be greater than 0".into());
    }
    let mut graph = Graph::default();
    let mut index: BTreeMap<String, usize> = BTreeMap::new();
    let mut ports: BTreeMap<(usize, String), usize> = BTreeMap::new();
    for (i, node) in list(&value, "nodes")?.iter().enumerate() {
        let at = format!("nodes[{i}]");
        let id = name(node, "id", &at)?;
        let mut symbol = Symbol {
            id: id.clone(),
            w: size(node, "w", &at)?,
            h: size(node, "h", &at)?,
            block: node.get("block").and_then(Value::as_str).map(String::from),
            ..Symbol::default()
        };
        if let Some(given) = node.get("ports") {
            let given = given.as_array().ok_or_else(|| format!("{at}: ports must be a list"))?;
            for (k, port) in given.iter().enumerate() {
                let at = format!("{at}.ports[{k}]");
                let pid = name(port, "id", &at)?;
                let side = match port.get("side").and_then(Value::as_str) {
                    Some("N") => Side::N,
                    Some("E") => Side::E,
                    Some("S") => Side::S,
                    Some("W") => Side::W,
                    _ => return Err(format!("{at}: side must be N, E, S or W")),
                };
                let long = if side.is_horizontal() { symbol.h } else { symbol.w };
                let off = match port.get("off") {
                    None => long / 2,
                    Some(v) => steps(v, &format!("{at}: off"))?,
                };
                if off < 0 || off > long {
                    return Err(format!("{at}: off lies beyond the side of node \"{id}\""));
                }
                if ports.insert((i, pid.clone()), k).is_some() {
                    return Err(format!("{at}: a second port \"{pid}\" on node \"{id}\""));
                }
                symbol.ports.push(Port { id: pid, side, off });
            }
        }
        if let Some(given) = node.get("transforms") {
            let given =
                given.as_array().ok_or_else(|| format!("{at}: transforms must be a list"))?;
            let mut t = Transforms::default();
            for word in given {
                match word.as_str() {
                    Some("mirror-x") => t.mirror_x = true,
                    Some("mirror-y") => t.mirror_y = true,
                    Some("turn") => t.turn = true,
                    _ => return Err(format!("{at}: unknown transform {word}")),
                }
            }
            symbol.transforms = t;
        }
        if index.insert(id.clone(), i).is_some() {
            return Err(format!("{at}: a second node \"{id}\""));
        }
        graph.symbols.push(symbol);
    }
    for (i, node) in list(&value, "nodes")?.iter().enumerate() {
        wishes(node, &format!("nodes[{i}]"), &index, &mut graph.symbols[i].hint)?;
    }
    let mut seen = BTreeMap::new();
    for (i, edge) in list(&value, "edges")?.iter().enumerate() {
        let at = format!("edges[{i}]");
        let id = name(edge, "id", &at)?;
        let mut ends = Vec::new();
        for key in ["from", "to"] {
            let text = name(edge, key, &at)?;
            ends.push(
                end(&text, &index, &ports).ok_or_else(|| {
                    format!("{at}: {key} \"{text}\" is no node.port of this graph")
                })?,
            );
        }
        if ends[0] == ends[1] {
            return Err(format!("{at}: edge \"{id}\" joins a port to itself"));
        }
        if seen.insert(id.clone(), ()).is_some() {
            return Err(format!("{at}: a second edge \"{id}\""));
        }
        let rank = match edge.get("rank") {
            None => 1,
            Some(v) => {
                v.as_u64().ok_or_else(|| format!("{at}: rank must be a whole number"))?.min(9) as u8
            }
        };
        graph.pipes.push(Pipe { id, from: ends[0], to: ends[1], rank, label: None });
    }
    let sheet = match value.get("sheet").map(|s| s.as_array().map(Vec::as_slice)) {
        None => None,
        Some(Some([w, h])) => {
            let (w, h) = (steps(w, "sheet")?, steps(h, "sheet")?);
            if w <= 0 || h <= 0 {
                return Err("sheet must be wider and higher than 0".into());
            }
            Some((w, h))
        }
        Some(_) => return Err("sheet must be [width, height]".into()),
    };
    Ok(Read { graph, spacing, sheet })
}

fn wishes(
    node: &Value,
    at: &str,
    index: &BTreeMap<String, usize>,
    hint: &mut Hint,
) -> Result<(), String> {
    if let Some(side) = node.get("side") {
        hint.side = Some(match side.as_str() {
            Some("N") => Side::N,
            Some("E") => Side::E,
            Some("S") => Side::S,
            Some("W") => Side::W,
            _ => return Err(format!("{at}: side must be N, E, S or W")),
        });
    }
    let lists = [
        ("left-of", &mut hint.left_of),
        ("above", &mut hint.above),
        ("level-with", &mut hint.level_with),
    ];
    for (key, list) in lists {
        let Some(given) = node.get(key) else { continue };
        let given = given.as_array().ok_or_else(|| format!("{at}: {key} must be a list"))?;
        for id in given {
            let known = id.as_str().and_then(|id| index.get(id));
            list.push(*known.ok_or_else(|| format!("{at}: {key} names no node: {id}"))?);
        }
    }
    Ok(())
}

/// Ids may hold dots: every place to cut is tried.
fn end(
    text: &str,
    index: &BTreeMap<String, usize>,
    ports: &BTreeMap<(usize, String), usize>,
) -> Option<End> {
    text.match_indices('.').find_map(|(cut, _)| {
        let symbol = *index.get(&text[..cut])?;
        let port = *ports.get(&(symbol, text[cut + 1..].to_string()))?;
        Some(End { symbol, port })
    })
}

fn list<'a>(value: &'a Value, key: &str) -> Result<&'a Vec<Value>, String> {
    value.get(key).and_then(Value::as_array).ok_or_else(|| format!("\"{key}\" must be a list"))
}

fn name(value: &Value, key: &str, at: &str) -> Result<String, String> {
    match value.get(key) {
        Some(Value::String(s)) => Ok(s.clone()),
        Some(Value::Number(n)) => Ok(n.to_string()),
        _ => Err(format!("{at}: {key} is missing")),
    }
}

fn size(value: &Value, key: &str, at: &str) -> Result<i64, String> {
    let v = value.get(key).ok_or_else(|| format!("{at}: {key} is missing"))?;
    let v = steps(v, &format!("{at}: {key}"))?;
    if v < 0 {
        return Err(format!("{at}: {key} must not be negative"));
    }
    Ok(v)
}

fn steps(value: &Value, what: &str) -> Result<i64, String> {
    let v = value
        .as_f64()
        .filter(|v| v.abs() < 1e9)
        .ok_or_else(|| format!("{what} must be a number below 1e9"))?;
    Ok((v * FINE as f64).round() as i64)
}

fn units(v: i64) -> Value {
    if v % FINE == 0 { json!(v / FINE) } else { json!(v as f64 / FINE as f64) }
}

pub fn write(graph: &Graph, drawing: &Drawing, m: &Measures, ms: f64) -> String {
    let mut nodes = Map::new();
    for (i, at) in drawing.placed.iter().enumerate() {
        let area = graph.area(i, at);
        let mirror = match (at.pose.mirror_x, at.pose.mirror_y) {
            (false, false) => "none",
            (true, false) => "x",
            (false, true) => "y",
            (true, true) => "xy",
        };
        nodes.insert(
            graph.symbols[i].id.clone(),
            json!({"x": units(area.x), "y": units(area.y), "w": units(area.w), "h": units(area.h),
                "mirror": mirror, "turn": i64::from(at.pose.turn) * 90}),
        );
    }
    let mut edges = Map::new();
    for (pipe, route) in graph.pipes.iter().zip(&drawing.routes) {
        let points: Vec<Value> = route.iter().map(|p| json!([units(p.x), units(p.y)])).collect();
        edges.insert(pipe.id.clone(), Value::Array(points));
    }
    json!({"nodes": nodes, "edges": edges, "crossings": m.crossings, "bends": m.bends,
        "length": units(m.length), "ms": (ms * 10.0).round() / 10.0})
    .to_string()
}

/// The graph in the form that [`read`] takes.
#[allow(dead_code)]
pub fn write_graph(graph: &Graph, spacing: i64) -> String {
    let nodes: Vec<Value> = graph
        .symbols
        .iter()
        .map(|s| {
            let ports: Vec<Value> = s
                .ports
                .iter()
                .map(|p| json!({"id": p.id, "side": format!("{:?}", p.side), "off": units(p.off)}))
                .collect();
            let mut words = Vec::new();
            for (yes, word) in [
                (s.transforms.mirror_x, "mirror-x"),
                (s.transforms.mirror_y, "mirror-y"),
                (s.transforms.turn, "turn"),
            ] {
                if yes {
                    words.push(word);
                }
            }
            let mut node = json!({"id": s.id, "w": units(s.w), "h": units(s.h), "ports": ports,
                "transforms": words});
            if let Some(block) = &s.block {
                node["block"] = json!(block);
            }
            node
        })
        .collect();
    let edges: Vec<Value> = graph
        .pipes
        .iter()
        .map(|p| {
            let end = |e: End| {
                let s = &graph.symbols[e.symbol];
                format!("{}.{}", s.id, s.ports[e.port].id)
            };
            json!({"id": p.id, "from": end(p.from), "to": end(p.to), "rank": p.rank})
        })
        .collect();
    json!({"nodes": nodes, "edges": edges, "spacing": units(spacing)}).to_string()
}
