//! Coordinates on one axis that keep all distances and make the weighted sum of lengths least.
//! In: arcs with a least length and a weight, and coordinates that already keep the lengths.
//! Out: the best coordinates.
//!
//! The network simplex method in the form of Gansner, Koutsofios, North and Vo (1993).

/// `to` lies at least `least` after `from`; each unit between them costs `weight`.
#[derive(Clone, Copy, Debug)]
pub struct Arc {
    pub from: usize,
    pub to: usize,
    pub least: i64,
    pub weight: i64,
}

const NONE: usize = usize::MAX;

struct Tree {
    /// Arc to the parent, or [`NONE`].
    up: Vec<usize>,
    /// Nodes from the root downwards.
    order: Vec<usize>,
    parent: Vec<usize>,
}

/// Moves `at`, which must keep all arcs, to the optimum; stops early after `rounds` exchanges.
pub fn minimise(at: &mut [i64], arcs: &[Arc], rounds: usize) {
    let n = at.len();
    if n < 2 || arcs.is_empty() {
        return;
    }
    let mut touching: Vec<Vec<usize>> = vec![Vec::new(); n];
    for (k, a) in arcs.iter().enumerate() {
        touching[a.from].push(k);
        touching[a.to].push(k);
    }
    // Each connected part by itself.
    let mut part = vec![NONE; n];
    for root in 0..n {
        if part[root] != NONE {
            continue;
        }
        let mut nodes = vec![root];
        part[root] = root;
        let mut k = 0;
        while k < nodes.len() {
            for &a in &touching[nodes[k]] {
                for v in [arcs[a].from, arcs[a].to] {
                    if part[v] == NONE {
                        part[v] = root;
                        nodes.push(v);
                    }
                }
            }
            k += 1;
        }
        if nodes.len() > 1 {
            let own: Vec<usize> = (0..arcs.len()).filter(|&k| part[arcs[k].from] == root).collect();
            solve(at, arcs, &own, &touching, &nodes, rounds);
        }
    }
}

fn slack(at: &[i64], a: &Arc) -> i64 {
    at[a.to] - at[a.from] - a.least
}

fn solve(
    at: &mut [i64],
    arcs: &[Arc],
    own: &[usize],
    touching: &[Vec<usize>],
    nodes: &[usize],
    rounds: usize,
) {
    let n = at.len();
    let mut in_tree = vec![false; arcs.len()];
    // A tree of arcs without slack, grown by shifting what it holds.
    let mut held = vec![false; n];
    let mut members = vec![nodes[0]];
    held[nodes[0]] = true;
    let mut k = 0;
    while members.len() < nodes.len() {
        while k < members.len() {
            let u = members[k];
            k += 1;
            for &a in &touching[u] {
                let arc = &arcs[a];
                let v = if arc.from == u { arc.to } else { arc.from };
                if !held[v] && slack(at, arc) == 0 {
                    held[v] = true;
                    in_tree[a] = true;
                    members.push(v);
                }
            }
        }
        if members.len() == nodes.len() {
            break;
        }
        let Some(&next) = own
            .iter()
            .filter(|&&a| held[arcs[a].from] != held[arcs[a].to])
            .min_by_key(|&&a| (slack(at, &arcs[a]), a))
        else {
            return;
        };
        let gap = slack(at, &arcs[next]);
        let shift = if held[arcs[next].from] { gap } else { -gap };
        for &m in &members {
            at[m] += shift;
        }
        k = 0;
    }
    let mut balance = vec![0i64; n];
    for &a in own {
        balance[arcs[a].from] += arcs[a].weight;
        balance[arcs[a].to] -= arcs[a].weight;
    }
    let mut below = vec![false; n];
    for _ in 0..rounds {
        let tree = Tree::new(n, nodes[0], arcs, touching, &in_tree);
        // What the part under each node would gain by moving away from the rest.
        let mut sum = balance.clone();
        let mut leave = (0i64, NONE);
        for &v in tree.order.iter().rev() {
            let a = tree.up[v];
            if a == NONE {
                continue;
            }
            let cut = if arcs[a].from == v { sum[v] } else { -sum[v] };
            if (cut, a) < leave {
                leave = (cut, a);
            }
            let p = tree.parent[v];
            sum[p] += sum[v];
        }
        let (cut, out) = leave;
        if cut >= 0 || out == NONE {
            return;
        }
        // The part on the lower side of the leaving arc.
        let child = if tree.parent[arcs[out].from] == arcs[out].to && tree.up[arcs[out].from] == out
        {
            arcs[out].from
        } else {
            arcs[out].to
        };
        below.fill(false);
        below[child] = true;
        for &v in &tree.order {
            if tree.parent[v] != NONE && below[tree.parent[v]] {
                below[v] = true;
            }
        }
        // Arcs that run the other way across the cut hold the part back.
        let tail_below = below[arcs[out].from];
        let Some(&enter) = own
            .iter()
            .filter(|&&a| {
                let (f, t) = (below[arcs[a].from], below[arcs[a].to]);
                f != t && f != tail_below
            })
            .min_by_key(|&&a| (slack(at, &arcs[a]), a))
        else {
            return;
        };
        let gap = slack(at, &arcs[enter]);
        let shift = if below[arcs[enter].from] { gap } else { -gap };
        if gap > 0 {
            for &v in nodes {
                if below[v] {
                    at[v] += shift;
                }
            }
        }
        in_tree[out] = false;
        in_tree[enter] = true;
    }
}

impl Tree {
    fn new(n: usize, root: usize, arcs: &[Arc], touching: &[Vec<usize>], in_tree: &[bool]) -> Tree {
        let mut tree = Tree { up: vec![NONE; n], order: vec![root], parent: vec![NONE; n] };
        let mut k = 0;
        while k < tree.order.len() {
            let u = tree.order[k];
            k += 1;
            for &a in &touching[u] {
                if !in_tree[a] || a == tree.up[u] {
                    continue;
                }
                let v = if arcs[a].from == u { arcs[a].to } else { arcs[a].from };
                tree.up[v] = a;
                tree.parent[v] = u;
                tree.order.push(v);
            }
        }
        tree
    }
}
