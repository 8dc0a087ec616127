//! A view too large for its largest sheet, in pieces. In: the view, and what fits on a sheet. Out:
//! views of the pieces, each cut pipe with the same match mark on both sheets.

use std::collections::{BTreeMap, BTreeSet};

use super::View;
use super::cut::Cut;
use super::halves::second_half;
use crate::model::{PartIx, System};

/// Smaller pieces are not cut again.
const LEAST: usize = 14;
/// More sheets than this are harder to read than one large one.
const MOST: usize = 24;

/// The view in pieces that each satisfy `fits` or can't be cut, their match marks counted on from
/// `mark`; `None` where those would be too many.
pub fn split_until(view: &View, mark: usize, fits: &dyn Fn(&View) -> bool) -> Option<Vec<View>> {
    let mut pieces: Vec<Vec<PartIx>> = vec![view.system.part_ixs().collect()];
    let mut sound: BTreeSet<Vec<PartIx>> = BTreeSet::new();
    loop {
        let views = of_pieces(view, mark, &pieces);
        let large = pieces.iter().zip(&views).position(|(piece, view)| {
            // A piece alone is not the whole view.
            let done = pieces.len() > 1 && (sound.contains(piece) || fits(view));
            if done {
                sound.insert(piece.clone());
            }
            !done
        });
        let Some(large) = large else { return Some(views) };
        let few = pieces[large].len() < LEAST;
        let second = if few { None } else { second_half(&view.system, &pieces[large]) };
        let Some(second) = second else {
            // What can't be cut takes the paper that it needs.
            if pieces.len() == 1 {
                return None;
            }
            sound.insert(pieces[large].clone());
            continue;
        };
        if pieces.len() == MOST {
            return None;
        }
        let (second, first): (Vec<PartIx>, Vec<PartIx>) =
            pieces[large].iter().partition(|p| second.contains(p));
        pieces[large] = first;
        pieces.insert(large + 1, second);
    }
}

/// The view in the pieces of an earlier issue: each part on the sheet on which its name stood, a
/// new one with its neighbours.
pub fn pieces_as_before(view: &View, mark: usize, earlier: &[&System]) -> Vec<View> {
    let mut at: BTreeMap<&str, usize> = BTreeMap::new();
    for (n, system) in earlier.iter().enumerate() {
        for part in system.parts.iter().filter(|p| p.kind.key != "match mark") {
            at.insert(part.name.as_str(), n);
        }
    }
    let system = &view.system;
    let mut found: Vec<Option<usize>> =
        system.parts.iter().map(|p| at.get(p.name.as_str()).copied()).collect();
    loop {
        let mut more = false;
        let on = system.part_ixs().filter_map(|p| Some((p, system.part(p).on?)));
        let joins = system.pipes.iter().map(|p| (p.from.part, p.to.part));
        for (a, b) in joins.chain(on) {
            for (a, b) in [(a, b), (b, a)] {
                if let (None, Some(n)) = (found[a.0], found[b.0]) {
                    found[a.0] = Some(n);
                    more = true;
                }
            }
        }
        if !more {
            break;
        }
    }
    let mut pieces: Vec<Vec<PartIx>> = vec![Vec::new(); earlier.len()];
    for part in system.part_ixs() {
        pieces[found[part.0].unwrap_or(0)].push(part);
    }
    pieces.retain(|p| !p.is_empty());
    of_pieces(view, mark, &pieces)
}

/// The last number among the match marks of a system.
pub fn last_mark(system: &System) -> usize {
    let number = |p: &crate::model::Part| p.tag.strip_prefix("MM")?.parse().ok();
    system.parts.iter().filter_map(number).max().unwrap_or(0)
}

fn of_pieces(view: &View, mut mark: usize, pieces: &[Vec<PartIx>]) -> Vec<View> {
    let system = &view.system;
    let mut piece_of = vec![0; system.parts.len()];
    for (n, piece) in pieces.iter().enumerate() {
        for part in piece {
            piece_of[part.0] = n;
        }
    }
    let names: Vec<String> = (1..=pieces.len()).map(|n| format!("{} {n}", view.name)).collect();
    let mut cuts: Vec<Cut> = pieces.iter().map(|p| Cut::new(system, p.iter().copied())).collect();
    for pipe in &system.pipes {
        let (a, b) = (piece_of[pipe.from.part.0], piece_of[pipe.to.part.0]);
        if a == b {
            if let (Some(from), Some(to)) = (cuts[a].port(pipe.from), cuts[a].port(pipe.to)) {
                cuts[a].pipe(pipe, from, to);
            }
            continue;
        }
        mark += 1;
        cuts[a].pipe_to_mark(pipe, mark, &names[b]);
        cuts[b].pipe_to_mark(pipe, mark, &names[a]);
    }
    let of = pieces.len();
    cuts.into_iter()
        .zip(pieces)
        .enumerate()
        .map(|(n, (cut, piece))| {
            let key = match n {
                0 => view.key.clone(),
                _ => format!("{}-{}", view.key, n + 1),
            };
            let shows = landmarks(system, piece);
            let shows = if shows.is_empty() { shows } else { format!(": {shows}") };
            let title = match view.title.strip_suffix(view.name.as_str()) {
                Some(before) => format!("{before}{} of {of}{shows}", names[n]),
                None => format!("{} {} of {of}{shows}", view.title, n + 1),
            };
            cut.done(key, names[n].clone(), title)
        })
        .collect()
}

/// What a reader looks for on this sheet, as far as the title block has room.
fn landmarks(system: &System, piece: &[PartIx]) -> String {
    const LETTERS: usize = 21;
    let has = |is: &dyn Fn(&crate::model::Part) -> bool| piece.iter().any(|p| is(system.part(*p)));
    let circuit = |p: &crate::model::Part| {
        p.kind.key.ends_with("circuit") || p.kind.key.ends_with("circuits")
    };
    let found = [
        ("heat source", has(&|p| p.kind.heats)),
        ("hot water", has(&|p| p.kind.symbol.name == "cylinder")),
        ("cold water", has(&|p| p.kind.symbol.name == "main")),
        ("zones", has(&circuit)),
        ("outlets", has(&|p| p.kind.symbol.name == "outlet")),
    ];
    let mut words = String::new();
    for (word, _) in found.into_iter().filter(|(_, is_there)| *is_there) {
        let comma = if words.is_empty() { "" } else { ", " };
        if words.len() + comma.len() + word.len() <= LETTERS {
            words += comma;
            words += word;
        }
    }
    words
}
