//! Timber in the wall behind what is heavy, set out in figures. In: the plan. Out: noggins, none of
//! which runs into another or past the end of its wall.

use super::plan::{CupboardPlan, Owner, Solid};
use crate::catalogue::limits;
use crate::model::{Side, System};

/// One piece of timber between studs.
#[derive(Clone, Debug, PartialEq)]
pub struct Noggin {
    pub wall: Side,
    /// Along the wall, mm: x on the back wall, y from the back wall on the others.
    pub from: f64,
    pub to: f64,
    /// Its middle above the floor, and how deep it is, mm.
    pub z: f64,
    pub deep: f64,
    /// What it carries.
    pub tags: Vec<String>,
}

impl Noggin {
    pub fn length(&self) -> f64 {
        self.to - self.from
    }

    /// "x" or "y": along which its wall is measured.
    pub fn axis(&self) -> char {
        if self.wall == Side::Back { 'x' } else { 'y' }
    }
}

/// The timber that a plan wants, wall by wall from the left or the back: a piece behind each heavy
/// body; pieces at about one height that would overlap are one longer piece, at heights that differ
/// more they are cut to meet in the middle of the overlap.
pub fn noggins(system: &System, plan: &CupboardPlan) -> Vec<Noggin> {
    let limit = |name: &str| limits::find(&system.rules, &format!("STR05.noggin-{name}")).value;
    let (over, deep, share) = (limit("over"), limit("depth"), limit("height"));
    let mut all: Vec<Noggin> = Vec::new();
    for wall in [Side::Back, Side::Left, Side::Right] {
        let end = if wall == Side::Back { plan.room.w } else { plan.room.d };
        let mut pieces: Vec<Noggin> = plan
            .solids
            .iter()
            .filter(|s| s.fixed_to == wall && is_heavy(system, s))
            .map(|s| {
                let b = s.at;
                let (at, along) = if wall == Side::Back { (b.x, b.w) } else { (b.y, b.d) };
                Noggin {
                    wall,
                    from: (at - over).max(0.0),
                    to: (at + along + over).min(end),
                    z: b.z + b.h * share,
                    deep,
                    tags: vec![s.tag.clone()],
                }
            })
            .collect();
        pieces.sort_by(|a, b| a.from.total_cmp(&b.from).then(a.z.total_cmp(&b.z)));
        all.extend(apart(pieces));
    }
    all
}

/// Pieces of one wall, none of which runs into another; in: by where they begin.
fn apart(pieces: Vec<Noggin>) -> Vec<Noggin> {
    let mut kept: Vec<Noggin> = Vec::new();
    for mut piece in pieces {
        let deep = piece.deep;
        let clash = |k: &Noggin| k.to > piece.from && (k.z - piece.z).abs() < deep;
        match kept.iter().position(clash) {
            Some(i) if (kept[i].z - piece.z).abs() <= deep / 2.0 => {
                let k = &mut kept[i];
                k.z = f64::midpoint(k.z, piece.z);
                k.to = k.to.max(piece.to);
                k.tags.append(&mut piece.tags);
            }
            Some(i) => {
                let meet = f64::midpoint(kept[i].to.min(piece.to), piece.from);
                kept[i].to = meet;
                piece.from = meet;
                kept.push(piece);
            }
            None => kept.push(piece),
        }
    }
    kept
}

fn is_heavy(system: &System, solid: &Solid) -> bool {
    match solid.owner {
        Owner::Part(ix) => system.part(ix).kind.mass > 0.0,
        Owner::Unit(ix) => system.unit(ix).kind.mass > 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(from: f64, to: f64, z: f64, tag: &str) -> Noggin {
        Noggin { wall: Side::Back, from, to, z, deep: 95.0, tags: vec![tag.to_owned()] }
    }

    #[test]
    fn one_timber_does_not_run_through_another() {
        let level =
            apart(vec![piece(0.0, 325.0, 1440.0, "HV1"), piece(310.0, 610.0, 1440.0, "IG1")]);
        assert_eq!(level.len(), 1);
        assert_eq!((level[0].from, level[0].to), (0.0, 610.0));
        assert_eq!(level[0].tags, ["HV1", "IG1"]);
        let stepped =
            apart(vec![piece(0.0, 330.0, 1440.0, "HV1"), piece(310.0, 610.0, 1500.0, "IG1")]);
        assert_eq!(stepped.len(), 2);
        assert_eq!((stepped[0].to, stepped[1].from), (320.0, 320.0));
        let clear =
            apart(vec![piece(0.0, 325.0, 1440.0, "HV1"), piece(310.0, 610.0, 900.0, "IG1")]);
        assert_eq!(clear.len(), 2);
    }
}
