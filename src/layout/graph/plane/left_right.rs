//! Planarity with embedding: the left-right method (de Fraysseix and Rosenstiehl; in the form of
//! Brandes, "The left-right planarity test", 2009). In: a simple graph. Out: the order of the
//! edges round each vertex, clockwise, or nothing where every drawing has a crossing.

const NONE: usize = usize::MAX;

#[derive(Clone, Copy)]
struct Interval {
    low: usize,
    high: usize,
}

#[derive(Clone, Copy)]
struct Pair {
    left: Interval,
    right: Interval,
}

impl Interval {
    const EMPTY: Interval = Interval { low: NONE, high: NONE };

    fn is_empty(self) -> bool {
        self.low == NONE && self.high == NONE
    }
}

struct State<'a> {
    edges: &'a [(usize, usize)],
    /// Edges at each vertex.
    at: Vec<Vec<usize>>,
    src: Vec<usize>,
    dst: Vec<usize>,
    height: Vec<usize>,
    parent: Vec<usize>,
    lowpt: Vec<usize>,
    lowpt2: Vec<usize>,
    nesting: Vec<i64>,
    out: Vec<Vec<usize>>,
    reference: Vec<usize>,
    side: Vec<i64>,
    lowpt_edge: Vec<usize>,
    bottom: Vec<usize>,
    stack: Vec<Pair>,
}

/// Edges (by index into `edges`) round each vertex in clockwise order. Loops and doubled edges are
/// not allowed in `edges`.
pub fn embed(vertices: usize, edges: &[(usize, usize)]) -> Option<Vec<Vec<usize>>> {
    if vertices > 2 && edges.len() > 3 * vertices - 6 {
        return None;
    }
    let m = edges.len();
    let mut s = State {
        edges,
        at: vec![Vec::new(); vertices],
        src: vec![NONE; m],
        dst: vec![NONE; m],
        height: vec![NONE; vertices],
        parent: vec![NONE; vertices],
        lowpt: vec![0; m],
        lowpt2: vec![0; m],
        nesting: vec![0; m],
        out: vec![Vec::new(); vertices],
        reference: vec![NONE; m],
        side: vec![1; m],
        lowpt_edge: vec![NONE; m],
        bottom: vec![0; m],
        stack: Vec::new(),
    };
    for (k, &(a, b)) in edges.iter().enumerate() {
        s.at[a].push(k);
        s.at[b].push(k);
    }
    let mut roots = Vec::new();
    for v in 0..vertices {
        if s.height[v] == NONE {
            s.height[v] = 0;
            roots.push(v);
            s.orient(v);
        }
    }
    for v in 0..vertices {
        s.sort_out(v);
    }
    for &v in &roots {
        if !s.test(v) {
            return None;
        }
    }
    for k in 0..m {
        let sign = s.sign(k);
        s.nesting[k] *= sign;
    }
    for v in 0..vertices {
        s.sort_out(v);
    }
    Some(s.rotations(&roots))
}

impl State<'_> {
    fn sort_out(&mut self, v: usize) {
        let nesting = &self.nesting;
        self.out[v].sort_by_key(|&k| (nesting[k], k));
    }

    fn orient(&mut self, root: usize) {
        let mut stack = vec![root];
        let mut next = vec![0usize; 0];
        next.resize(self.at.len(), 0);
        let mut returning = vec![false; self.edges.len()];
        'outer: while let Some(v) = stack.pop() {
            let e = self.parent[v];
            while next[v] < self.at[v].len() {
                let k = self.at[v][next[v]];
                if !returning[k] {
                    if self.src[k] != NONE {
                        next[v] += 1;
                        continue;
                    }
                    let (a, b) = self.edges[k];
                    let w = if a == v { b } else { a };
                    (self.src[k], self.dst[k]) = (v, w);
                    self.out[v].push(k);
                    self.lowpt[k] = self.height[v];
                    self.lowpt2[k] = self.height[v];
                    if self.height[w] == NONE {
                        self.parent[w] = k;
                        self.height[w] = self.height[v] + 1;
                        returning[k] = true;
                        stack.push(v);
                        stack.push(w);
                        continue 'outer;
                    }
                    self.lowpt[k] = self.height[w];
                }
                self.nesting[k] = 2 * self.lowpt[k] as i64;
                if self.lowpt2[k] < self.height[v] {
                    self.nesting[k] += 1;
                }
                if e != NONE {
                    if self.lowpt[k] < self.lowpt[e] {
                        self.lowpt2[e] = self.lowpt[e].min(self.lowpt2[k]);
                        self.lowpt[e] = self.lowpt[k];
                    } else if self.lowpt[k] > self.lowpt[e] {
                        self.lowpt2[e] = self.lowpt2[e].min(self.lowpt[k]);
                    } else {
                        self.lowpt2[e] = self.lowpt2[e].min(self.lowpt2[k]);
                    }
                }
                next[v] += 1;
            }
        }
    }

    fn test(&mut self, root: usize) -> bool {
        let mut stack = vec![(root, 0usize, false)];
        while let Some((v, mut n, mut returned)) = stack.pop() {
            let e = self.parent[v];
            let mut descend = None;
            while n < self.out[v].len() {
                let k = self.out[v][n];
                let w = self.dst[k];
                if !returned {
                    self.bottom[k] = self.stack.len();
                    if self.parent[w] == k {
                        descend = Some(w);
                        break;
                    }
                    self.lowpt_edge[k] = k;
                    self.stack
                        .push(Pair { left: Interval::EMPTY, right: Interval { low: k, high: k } });
                }
                returned = false;
                if self.lowpt[k] < self.height[v] {
                    if n == 0 {
                        self.lowpt_edge[e] = self.lowpt_edge[k];
                    } else if !self.constrain(k, e) {
                        return false;
                    }
                }
                n += 1;
            }
            if let Some(w) = descend {
                stack.push((v, n, true));
                stack.push((w, 0, false));
                continue;
            }
            if e != NONE {
                self.trim(e);
            }
        }
        true
    }

    fn conflicting(&self, i: Interval, k: usize) -> bool {
        !i.is_empty() && self.lowpt[i.high] > self.lowpt[k]
    }

    fn constrain(&mut self, k: usize, e: usize) -> bool {
        let mut p = Pair { left: Interval::EMPTY, right: Interval::EMPTY };
        while self.stack.len() > self.bottom[k] {
            let Some(mut q) = self.stack.pop() else { break };
            if !q.left.is_empty() {
                std::mem::swap(&mut q.left, &mut q.right);
            }
            if !q.left.is_empty() {
                return false;
            }
            if self.lowpt[q.right.low] > self.lowpt[e] {
                if p.right.is_empty() {
                    p.right.high = q.right.high;
                } else {
                    self.reference[p.right.low] = q.right.high;
                }
                p.right.low = q.right.low;
            } else {
                self.reference[q.right.low] = self.lowpt_edge[e];
            }
        }
        while let Some(&top) = self.stack.last() {
            if !self.conflicting(top.left, k) && !self.conflicting(top.right, k) {
                break;
            }
            let mut q = top;
            self.stack.pop();
            if self.conflicting(q.right, k) {
                std::mem::swap(&mut q.left, &mut q.right);
            }
            if self.conflicting(q.right, k) {
                return false;
            }
            if p.right.low != NONE {
                self.reference[p.right.low] = q.right.high;
            }
            if q.right.low != NONE {
                p.right.low = q.right.low;
            }
            if p.left.is_empty() {
                p.left.high = q.left.high;
            } else {
                self.reference[p.left.low] = q.left.high;
            }
            p.left.low = q.left.low;
        }
        if !p.left.is_empty() || !p.right.is_empty() {
            self.stack.push(p);
        }
        true
    }

    fn lowest(&self, p: &Pair) -> usize {
        match (p.left.is_empty(), p.right.is_empty()) {
            (true, _) => self.lowpt[p.right.low],
            (_, true) => self.lowpt[p.left.low],
            _ => self.lowpt[p.left.low].min(self.lowpt[p.right.low]),
        }
    }

    /// Drops the back edges that end at the parent of `e`'s lower end.
    fn trim(&mut self, e: usize) {
        let u = self.src[e];
        while let Some(top) = self.stack.last() {
            if self.lowest(top) != self.height[u] {
                break;
            }
            if top.left.low != NONE {
                self.side[top.left.low] = -1;
            }
            self.stack.pop();
        }
        if let Some(mut p) = self.stack.pop() {
            while p.left.high != NONE && self.dst[p.left.high] == u {
                p.left.high = self.reference[p.left.high];
            }
            if p.left.high == NONE && p.left.low != NONE {
                self.reference[p.left.low] = p.right.low;
                self.side[p.left.low] = -1;
                p.left.low = NONE;
            }
            while p.right.high != NONE && self.dst[p.right.high] == u {
                p.right.high = self.reference[p.right.high];
            }
            if p.right.high == NONE && p.right.low != NONE {
                self.reference[p.right.low] = p.left.low;
                self.side[p.right.low] = -1;
                p.right.low = NONE;
            }
            self.stack.push(p);
        }
        if self.lowpt[e] < self.height[u]
            && let Some(top) = self.stack.last()
        {
            let (l, r) = (top.left.high, top.right.high);
            self.reference[e] =
                if l != NONE && (r == NONE || self.lowpt[l] > self.lowpt[r]) { l } else { r };
        }
    }

    fn sign(&mut self, k: usize) -> i64 {
        let mut chain = vec![k];
        while self.reference[chain[chain.len() - 1]] != NONE {
            chain.push(self.reference[chain[chain.len() - 1]]);
        }
        while chain.len() > 1 {
            let last = chain.pop().unwrap_or(k);
            let before = chain[chain.len() - 1];
            self.side[before] *= self.side[last];
            self.reference[before] = NONE;
        }
        self.side[k]
    }

    /// Rings of half-edges (2 * edge, + 1 at the lower end) round each vertex.
    fn rotations(&mut self, roots: &[usize]) -> Vec<Vec<usize>> {
        let mut ring = Ring {
            next: vec![NONE; 2 * self.edges.len()],
            prev: vec![NONE; 2 * self.edges.len()],
            first: vec![NONE; self.at.len()],
        };
        for v in 0..self.at.len() {
            let mut prev = NONE;
            for &k in &self.out[v] {
                ring.after(v, 2 * k, prev);
                prev = 2 * k;
            }
        }
        let mut left = vec![NONE; self.at.len()];
        let mut right = vec![NONE; self.at.len()];
        for &root in roots {
            let mut stack = vec![(root, 0usize)];
            while let Some((v, n)) = stack.pop() {
                if n >= self.out[v].len() {
                    continue;
                }
                let k = self.out[v][n];
                let w = self.dst[k];
                stack.push((v, n + 1));
                if self.parent[w] == k {
                    ring.first(w, 2 * k + 1);
                    left[v] = 2 * k;
                    right[v] = 2 * k;
                    stack.push((w, 0));
                } else if self.side[k] == 1 {
                    ring.after(w, 2 * k + 1, right[w]);
                } else {
                    ring.before(w, 2 * k + 1, left[w]);
                    left[w] = 2 * k + 1;
                }
            }
        }
        (0..self.at.len())
            .map(|v| {
                let mut order = Vec::new();
                let first = ring.first[v];
                let mut h = first;
                while h != NONE {
                    order.push(h / 2);
                    h = ring.next[h];
                    if h == first {
                        break;
                    }
                }
                order
            })
            .collect()
    }
}

struct Ring {
    next: Vec<usize>,
    prev: Vec<usize>,
    first: Vec<usize>,
}

impl Ring {
    fn after(&mut self, v: usize, h: usize, at: usize) {
        if at == NONE {
            self.next[h] = h;
            self.prev[h] = h;
            self.first[v] = h;
            return;
        }
        let n = self.next[at];
        self.next[at] = h;
        self.prev[h] = at;
        self.next[h] = n;
        self.prev[n] = h;
    }

    fn before(&mut self, v: usize, h: usize, at: usize) {
        let p = if at == NONE { NONE } else { self.prev[at] };
        self.after(v, h, p);
        if at == self.first[v] {
            self.first[v] = h;
        }
    }

    fn first(&mut self, v: usize, h: usize) {
        let f = self.first[v];
        self.before(v, h, f);
        self.first[v] = h;
    }
}
