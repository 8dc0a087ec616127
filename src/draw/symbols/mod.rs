//! The symbols of pipework. In: a kind, its box on paper, how it stands. Out: marks in that box.
//! One file a family; the catalogue says which symbol a kind wears and where its ports lie.

mod discharge;
mod emitters;
mod fittings;
mod outlets;
mod pad;
mod plant;
mod valves;

use super::scene::Item;
use crate::catalogue::Kind;
use crate::layout::schematic::Pose;
use crate::model::Rect;
use pad::Pad;

/// The symbol of a kind in a box on paper. The box is the one after the turn; letters stay
/// upright. A symbol nobody knows is drawn as a plain box.
pub fn draw(kind: Kind, on_paper: Rect, pose: Pose) -> Vec<Item> {
    let mut pad = Pad::new(on_paper, pose);
    if !known(kind, &mut pad) {
        let (w, h) = (pad.w, pad.h);
        pad.rect(0.0, 0.0, w, h);
    }
    pad.done()
}

fn known(kind: Kind, pad: &mut Pad) -> bool {
    let name = kind.symbol.name.as_str();
    valves::draw(name, pad)
        || fittings::draw(name, pad)
        || discharge::draw(name, pad)
        || plant::draw(name, kind, pad)
        || emitters::draw(name, pad)
        || outlets::draw(name, kind, pad)
}

/// What the legend calls a kind: its trade name.
pub fn legend_name(kind: &Kind) -> &str {
    match kind.key.as_str() {
        "tee" => "joint",
        "temperature and pressure relief valve" => "T and P relief valve",
        "zone valve" => "two-port motor valve",
        "lever valve" => "lever valve, full bore",
        "service valve" => "servicing valve",
        "check valve" => "check valve, to black",
        "bypass valve" => "automatic bypass",
        "hot-water vessel" => "vessel, hot water",
        "heating vessel" => "vessel, heating",
        "solar vessel" => "vessel, solar",
        "tundish" => "tundish, gap in sight",
        "indirect cylinder" => "cylinder with coil",
        "direct cylinder" => "cylinder, electric",
        "twin-coil cylinder" => "cylinder, two coils",
        "filling loop" => "filling loop, removable",
        "flat" => "flat, see its own sheet",
        "match mark" => "goes on on another sheet",
        key => key,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::kinds;

    #[test]
    fn every_kind_has_its_symbol() {
        for row in kinds() {
            let kind = Kind::known(&row.key);
            let on_paper = Rect::new(0.0, 0.0, row.symbol.w, row.symbol.h);
            let mut pad = Pad::new(on_paper, Pose::UPRIGHT);
            assert!(known(kind, &mut pad), "{}: {}", row.key, row.symbol.name);
            assert!(!pad.done().is_empty(), "{}", row.key);
        }
    }

    /// All symbols on one sheet, to be looked at: `cargo test --lib symbol_sheet -- --ignored`.
    #[test]
    #[ignore = "draws a picture to be looked at"]
    fn symbol_sheet() {
        use crate::draw::scene::{Ink, Paper, Shape, Sheet, Stroke, Words};
        use crate::model::P2;
        let mut items = Vec::new();
        let (mut x, mut y, mut tall) = (15.0, 15.0, 0.0_f64);
        for row in kinds() {
            let kind = Kind::known(&row.key);
            let (w, h) = (row.symbol.w, row.symbol.h);
            if x + w + 24.0 > 410.0 {
                (x, y, tall) = (15.0, y + tall + 7.0, 0.0);
            }
            tall = tall.max(h);
            let at = Rect::new(x, y, w, h);
            items.extend(draw(kind, at, Pose::UPRIGHT));
            for port in &row.ports {
                let (p, edge) = Pose::UPRIGHT.port(port, w, h);
                let from = P2::new(x + p.x, y + p.y);
                let (dx, dy) = edge.step();
                let to = P2::new(from.x + 2.0 * dx, from.y + 2.0 * dy);
                items.push(Shape::line(&[from, to], Stroke::solid(0.7, Ink::ALARM)).into());
            }
            items.push(
                Words::new(P2::new(x, y - 2.2), &row.key[..row.key.len().min(14)], 1.8).into(),
            );
            x += w.max(12.0) + 8.0;
        }
        let sheet = Sheet {
            key: "symbols".into(),
            title: "Symbols".into(),
            description: String::new(),
            paper: Paper::A3,
            scale: None,
            items,
        };
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/target/looks");
        std::fs::create_dir_all(folder).unwrap();
        let png = crate::render::png(&sheet, 150.0).unwrap();
        std::fs::write(format!("{folder}/symbols.png"), png).unwrap();
    }
}
