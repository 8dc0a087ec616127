//! A drawing on the plane without lengths: vertices, edges, and the order of the edges round each
//! vertex. Edges come as two halves, `2k` at its start and `2k + 1` at its end.

/// No vertex, no run, no half.
pub const NONE: usize = usize::MAX;

#[derive(Clone, Debug, Default)]
pub struct Map {
    /// Symbol at each vertex, or [`NONE`] where two runs cross.
    pub symbol: Vec<usize>,
    /// Vertex at which each half starts; [`NONE`] where the edge is gone.
    pub org: Vec<usize>,
    /// Neighbours in the ring round that vertex.
    pub cw: Vec<usize>,
    pub ccw: Vec<usize>,
    /// Run to which each edge belongs.
    pub run: Vec<usize>,
    /// One half at each vertex.
    pub some: Vec<usize>,
    /// Port at which each half leaves its symbol.
    pub port: Vec<usize>,
    /// Face to the right of each half; kept by [`Map::mark_faces`].
    pub face: Vec<usize>,
    pub faces: usize,
}

impl Map {
    pub fn add_vertex(&mut self, symbol: usize) -> usize {
        self.symbol.push(symbol);
        self.some.push(NONE);
        self.symbol.len() - 1
    }

    /// Adds an edge of a run; its halves are not in any ring yet.
    pub fn add_edge(&mut self, run: usize) -> usize {
        self.run.push(run);
        for list in [&mut self.org, &mut self.cw, &mut self.ccw, &mut self.port, &mut self.face] {
            list.extend([NONE, NONE]);
        }
        self.run.len() - 1
    }

    /// Puts a half into the ring of a vertex, clockwise after `at` ([`NONE`]: the ring is empty).
    pub fn put(&mut self, h: usize, v: usize, at: usize) {
        self.org[h] = v;
        if at == NONE {
            (self.cw[h], self.ccw[h]) = (h, h);
            self.some[v] = h;
            return;
        }
        let next = self.cw[at];
        self.cw[at] = h;
        self.ccw[h] = at;
        self.cw[h] = next;
        self.ccw[next] = h;
    }

    /// Takes a half out of its ring.
    pub fn take(&mut self, h: usize) {
        let v = self.org[h];
        let (next, prev) = (self.cw[h], self.ccw[h]);
        if next == h {
            self.some[v] = NONE;
        } else {
            self.cw[prev] = next;
            self.ccw[next] = prev;
            self.some[v] = next;
        }
        self.org[h] = NONE;
    }

    /// Puts `new` where `old` is in its ring; `old` is then in none.
    pub fn swap(&mut self, old: usize, new: usize) {
        let v = self.org[old];
        let (next, prev) = (self.cw[old], self.ccw[old]);
        self.org[new] = v;
        self.port[new] = self.port[old];
        if next == old {
            (self.cw[new], self.ccw[new]) = (new, new);
        } else {
            (self.cw[new], self.ccw[new]) = (next, prev);
            self.ccw[next] = new;
            self.cw[prev] = new;
        }
        self.some[v] = new;
        self.org[old] = NONE;
    }

    pub fn ring(&self, v: usize) -> Vec<usize> {
        let mut out = Vec::new();
        let first = self.some[v];
        let mut h = first;
        while h != NONE {
            out.push(h);
            h = self.cw[h];
            if h == first {
                break;
            }
        }
        out
    }

    pub fn alive(&self, edge: usize) -> bool {
        self.org[2 * edge] != NONE && self.org[2 * edge + 1] != NONE
    }

    /// The next half of the same face, the face lying on the right.
    pub fn next(&self, h: usize) -> usize {
        self.ccw[h ^ 1]
    }

    pub fn mark_faces(&mut self) {
        self.face.fill(NONE);
        self.faces = 0;
        for h in 0..self.org.len() {
            if self.face[h] != NONE || !self.alive(h / 2) {
                continue;
            }
            let mut k = h;
            while self.face[k] == NONE {
                self.face[k] = self.faces;
                k = self.next(k);
            }
            self.faces += 1;
        }
    }

    /// Splits an edge with a new vertex. The edge keeps its first part; the new edge has the
    /// second. The new vertex's ring is left to the caller.
    fn split(&mut self, edge: usize) -> (usize, usize) {
        let c = self.add_vertex(NONE);
        let m = self.add_edge(self.run[edge]);
        self.swap(2 * edge + 1, 2 * m + 1);
        (c, m)
    }

    /// Lets `edge` (new, unconnected) run from the corner clockwise after `from` to the one after
    /// `to`, across the given halves, each of whose right side it comes from. The corners are
    /// given as (vertex, half or [`NONE`]).
    pub fn thread(
        &mut self,
        edge: usize,
        from: (usize, usize),
        across: &[usize],
        to: (usize, usize),
    ) {
        let run = self.run[edge];
        let mut piece = edge;
        let (goal, mut after) = to;
        self.put(2 * piece, from.0, from.1);
        for &h in across {
            let k = h / 2;
            let (c, m) = self.split(k);
            if after == 2 * k + 1 {
                after = 2 * m + 1;
            }
            // Seen along h: forward, then right (where we come from), back, left.
            let (forward, back) = if h % 2 == 0 { (2 * m, 2 * k + 1) } else { (2 * k + 1, 2 * m) };
            let onward = self.add_edge(run);
            self.put(forward, c, NONE);
            self.put(2 * piece + 1, c, forward);
            self.put(back, c, 2 * piece + 1);
            self.put(2 * onward, c, back);
            piece = onward;
        }
        self.put(2 * piece + 1, goal, after);
    }

    /// Takes a run out and heals the runs that it crossed.
    pub fn pull(&mut self, run: usize) {
        for e in 0..self.run.len() {
            if self.run[e] != run || !self.alive(e) {
                continue;
            }
            for h in [2 * e, 2 * e + 1] {
                self.take(h);
            }
        }
        for c in 0..self.symbol.len() {
            if self.symbol[c] != NONE {
                continue;
            }
            let ring = self.ring(c);
            if let [a, b] = ring[..] {
                self.heal(c, a, b);
            }
        }
    }

    /// Joins the two edges at a vertex that is no crossing any more.
    fn heal(&mut self, c: usize, a: usize, b: usize) {
        // The edge of a goes on to where the edge of b went.
        let far = b ^ 1;
        self.take(a);
        self.take(b);
        if far == a {
            return;
        }
        self.swap(far, a);
        self.some[c] = NONE;
    }

    /// Makes one edge of the two that meet at a vertex with nothing else; `a` is on the part that
    /// stays.
    pub fn merge(&mut self, c: usize, a: usize, b: usize) {
        self.heal(c, a, b);
    }

    /// Crossing vertices in use.
    pub fn crossings(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.symbol.len()).filter(|&v| self.symbol[v] == NONE && self.some[v] != NONE)
    }

    /// Euler's formula, for a connected or unconnected map: vertices - edges + faces = 1 + parts,
    /// where each part counts its own outer face.
    pub fn is_planar(&mut self) -> bool {
        self.mark_faces();
        let mut part: Vec<usize> = (0..self.symbol.len()).collect();
        fn root(part: &mut [usize], mut v: usize) -> usize {
            while part[v] != v {
                part[v] = part[part[v]];
                v = part[v];
            }
            v
        }
        let mut edges = 0;
        for e in 0..self.run.len() {
            if self.alive(e) {
                edges += 1;
                let (a, b) = (self.org[2 * e], self.org[2 * e + 1]);
                let (a, b) = (root(&mut part, a), root(&mut part, b));
                part[a] = b;
            }
        }
        let (mut vertices, mut parts) = (0, 0);
        for v in 0..self.symbol.len() {
            if self.some[v] != NONE {
                vertices += 1;
                parts += usize::from(part[v] == v);
            }
        }
        vertices + self.faces == edges + 2 * parts
    }
}
