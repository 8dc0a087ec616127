//! What a graph of blocks is made of. In: the graph. Out: blocks, risers and the pipes that join
//! them; which blocks are alike.

use super::*;

pub(super) fn parts(graph: &Graph) -> Option<Parts> {
    let n = graph.symbols.len();
    let mut by_name: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (s, symbol) in graph.symbols.iter().enumerate() {
        if let Some(name) = &symbol.block {
            by_name.entry(name).or_default().push(s);
        }
    }
    let mut blocks: Vec<Vec<usize>> = by_name.into_values().collect();
    blocks.sort();
    if blocks.len() < 3 {
        return None;
    }
    let mut block_of = vec![NONE; n];
    for (b, symbols) in blocks.iter().enumerate() {
        for &s in symbols {
            block_of[s] = b;
        }
    }
    // Lines of single symbols.
    let mut at: Vec<Vec<(usize, usize)>> = vec![Vec::new(); n];
    for (i, p) in graph.pipes.iter().enumerate() {
        let (a, b) = (p.from.symbol, p.to.symbol);
        if block_of[a] != NONE && block_of[b] != NONE && block_of[a] != block_of[b] {
            return None;
        }
        if block_of[a] == NONE && block_of[b] == NONE {
            if a == b {
                return None;
            }
            at[a].push((b, i));
            at[b].push((a, i));
        }
    }
    let mut seen = vec![false; n];
    let mut risers = Vec::new();
    let mut riser_of = vec![(NONE, 0); n];
    for s in 0..n {
        if block_of[s] != NONE || seen[s] || at[s].len() > 1 {
            continue;
        }
        let mut riser = Riser { spine: Vec::new(), links: Vec::new(), taps: Vec::new() };
        let (mut v, mut by) = (s, NONE);
        loop {
            if at[v].len() > 2 {
                return None;
            }
            seen[v] = true;
            riser_of[v] = (risers.len(), riser.spine.len());
            riser.spine.push(v);
            let Some(&(w, i)) = at[v].iter().find(|e| e.1 != by) else {
                break;
            };
            riser.links.push(i);
            (v, by) = (w, i);
        }
        risers.push(riser);
    }
    if (0..n).any(|s| block_of[s] == NONE && !seen[s]) {
        return None;
    }
    let mut gate = vec![vec![NONE; risers.len()]; blocks.len()];
    for (i, p) in graph.pipes.iter().enumerate() {
        let (a, b) = (block_of[p.from.symbol], block_of[p.to.symbol]);
        let (single, block) = match (a, b) {
            (NONE, NONE) => continue,
            (NONE, b) => (p.from.symbol, b),
            (a, NONE) => (p.to.symbol, a),
            _ => continue,
        };
        let (riser, place) = riser_of[single];
        if gate[block][riser] != NONE {
            return None;
        }
        gate[block][riser] = i;
        risers[riser].taps.push((place, i, block));
    }
    // All risers meet the blocks in the same order, or in the opposite one.
    let longest = (0..risers.len()).max_by_key(|&r| (risers[r].taps.len(), NONE - r))?;
    let through = |graph: &Graph, r: &Riser, tap: &(usize, usize, usize)| {
        // The tap that goes straight on from the last symbol comes last.
        let p = &graph.pipes[tap.1];
        let end = if block_of[p.from.symbol] == NONE { p.from } else { p.to };
        usize::from(r.links.is_empty() || graph.symbols[end.symbol].ports.len() < 3)
            + usize::from(is_across(graph, r, end))
    };
    for r in 0..risers.len() {
        let mut taps = risers[r].taps.clone();
        taps.sort_by_key(|t| (t.0, through(graph, &risers[r], t), t.1));
        risers[r].taps = taps;
    }
    let mut rank = vec![NONE; blocks.len()];
    for (k, t) in risers[longest].taps.iter().enumerate() {
        rank[t.2] = k;
    }
    let mut next = risers[longest].taps.len();
    for r in &mut rank {
        if *r == NONE {
            *r = next;
            next += 1;
        }
    }
    let mut order: Vec<usize> = (0..blocks.len()).collect();
    order.sort_by_key(|&b| rank[b]);
    let place: Vec<usize> = {
        let mut place = vec![0; blocks.len()];
        for (k, &b) in order.iter().enumerate() {
            place[b] = k;
        }
        place
    };
    for riser in &mut risers {
        for t in &mut riser.taps {
            t.2 = place[t.2];
        }
        let up = riser.taps.windows(2).all(|t| t[0].2 < t[1].2);
        let down = riser.taps.windows(2).all(|t| t[0].2 > t[1].2);
        if !up && !down {
            return None;
        }
        if !up {
            riser.spine.reverse();
            riser.links.reverse();
            riser.taps.reverse();
            for t in &mut riser.taps {
                t.0 = riser.spine.len() - 1 - t.0;
            }
        }
    }
    Some(Parts {
        blocks: order.iter().map(|&b| blocks[b].clone()).collect(),
        gate: order.iter().map(|&b| gate[b].clone()).collect(),
        risers,
    })
}

/// True where a port looks along the line of the riser's last link.
pub(super) fn is_across(graph: &Graph, riser: &Riser, end: End) -> bool {
    let Some(&link) = riser.links.last() else {
        return false;
    };
    let p = &graph.pipes[link];
    let other = [p.from, p.to].into_iter().find(|e| e.symbol == end.symbol);
    other.is_some_and(|other| {
        let side = |e: End| graph.symbols[e.symbol].ports[e.port].side.quarter();
        (side(other) + 2) % 4 == side(end)
    })
}

/// A text that is the same for blocks that may share a layout.
pub(super) fn kinds(graph: &Graph, parts: &Parts) -> Vec<String> {
    (0..parts.blocks.len())
        .map(|b| {
            let (block, pipes) = extract(graph, &parts.blocks[b]);
            let mut text = String::new();
            for s in &block.symbols {
                let ports: Vec<_> = s.ports.iter().map(|p| (p.side, p.off)).collect();
                text += &format!("{}x{} {:?} {ports:?} {:?};", s.w, s.h, s.transforms, s.label);
            }
            for p in &block.pipes {
                text += &format!("{:?} {:?} {};", p.from, p.to, p.rank);
            }
            for &i in &parts.gate[b] {
                if i == NONE {
                    text += "-;";
                    continue;
                }
                let end = inner_end(graph, &parts.blocks[b], i);
                let local = parts.blocks[b].iter().position(|&s| s == end.symbol);
                text += &format!("{local:?}.{} {};", end.port, graph.pipes[i].rank);
            }
            debug_assert_eq!(pipes.len(), block.pipes.len());
            text
        })
        .collect()
}

pub(super) fn inner_end(graph: &Graph, block: &[usize], pipe: usize) -> End {
    let p = &graph.pipes[pipe];
    if block.contains(&p.from.symbol) { p.from } else { p.to }
}
