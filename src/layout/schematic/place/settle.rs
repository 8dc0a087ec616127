//! Lines and columns → places. In: the order on every line and what hangs from it. Out: one
//! canvas. Heights first (a band between two lines is as high as what hangs in it), then x.

use super::*;

impl Placer<'_> {
    pub(super) fn settle(mut self) -> Option<Canvas> {
        let base = self.base();
        let levels = self.levels(base);
        self.beside_the_collector();
        self.keep_apart();
        self.lines_apart(&levels);
        let x = match self.old {
            None => self.cols.spread(),
            Some(_) => self.held_places()?,
        };
        let mut out = Canvas::default();
        for (name, line) in &self.lines {
            let y = levels.get(name).copied().unwrap_or(0.0);
            for item in &line.items {
                let (Some(part), Some(spot)) = (item.part, &item.spot) else { continue };
                if !out.has(part) {
                    out.put(part, spot.clone().moved(x[item.place], y));
                }
            }
        }
        for (name, line) in &self.lines {
            for item in &line.items {
                if let Some(part) = item.part.filter(|p| self.net.stretches(*p))
                    && let (Some(top), Some(low)) =
                        (levels.get(&Name::Flow), levels.get(&Name::Return))
                    && *name == Name::Return
                {
                    self.stretch_header(&mut out, part, *top, *low);
                }
            }
        }
        let store_at = self.store_level(&levels);
        if let Some((store, place)) = self.store {
            let spot = self.net.spot(store, Pose::UPRIGHT);
            let w = spot.at.w;
            out.put(store, spot.moved(snap(x[place] - w / 2.0), store_at));
        }
        for (name, line) in &self.lines {
            let y = levels.get(name).copied().unwrap_or(0.0);
            for pair in line.items.windows(2) {
                if pair.iter().any(|i| i.part.is_none()) {
                    let at = |i: &Item| P2::new(x[i.place], y);
                    out.keep_free(at(&pair[0]), at(&pair[1]));
                }
            }
        }
        for fall in &self.discharges {
            put_all(&mut out, &fall.canvas, x[fall.place], 0.0);
        }
        for (name, column) in &mut self.hung {
            let y = levels.get(name).copied().unwrap_or(0.0);
            if column.held == Held::Below {
                lift(&out, &mut column.canvas, x[column.place], y);
            }
            put_all(&mut out, &column.canvas, x[column.place], y);
        }
        for (top, _, column) in &self.rungs {
            let y = levels.get(top).copied().unwrap_or(0.0);
            put_all(&mut out, &column.canvas, x[column.place], y);
        }
        out.shift(0.0, base);
        Some(out)
    }

    /// y on the sheet from which all levels are counted: the flow line, where it stood on an
    /// earlier issue; without heating so far over the cold line that nothing pushes that down.
    fn base(&self) -> f64 {
        const OVER_COLD: f64 = 200.0;
        if self.lines.contains_key(&Name::Flow) {
            return self.stood_at(Name::Flow).unwrap_or(0.0);
        }
        self.stood_at(Name::Cold).map_or(0.0, |y| y - OVER_COLD)
    }

    /// y on the sheet where a line stood.
    fn stood_at(&self, name: Name) -> Option<f64> {
        let old = self.old?.before;
        let levels = self.lines.get(&name)?.items.iter().filter_map(|i| {
            let (part, spot) = (i.part?, i.spot.as_ref()?);
            Some(old.centre(part)?.y - spot.at.centre().y)
        });
        middle(levels.collect())
    }

    /// A line where it stood, but for want of room no higher than `y`.
    fn held(&self, name: Name, y: f64, base: f64) -> f64 {
        let firm = self.old.is_some_and(|old| old.firm);
        self.stood_at(name).map_or(y, |stood| if firm { stood - base } else { y.max(stood - base) })
    }

    /// x on the sheet for every place, as near to where it stood as can be.
    fn held_places(&self) -> Option<Vec<f64>> {
        let Beside { before, left, right, .. } = self.old?;
        let wanted = self.stood(before);
        let all = || wanted.iter().flatten().copied();
        let (first, last) = (all().fold(f64::MAX, f64::min), all().fold(f64::MIN, f64::max));
        self.cols.held(&wanted, first - left, last + right)
    }

    /// Places as far as they are known, to tell what stands left of what.
    fn order(&self) -> Vec<f64> {
        self.held_places().unwrap_or_else(|| self.cols.solve())
    }

    /// x on the sheet where what hangs at every place stood.
    fn stood(&self, old: &Before) -> Vec<Vec<f64>> {
        let mut all: Vec<Vec<f64>> = vec![Vec::new(); self.cols.len()];
        let mut stood = |place: usize, part: PartIx, spot: &Spot| {
            let c = old.centre(part);
            all[place].extend(c.map(|c| c.x - spot.at.centre().x));
        };
        for line in self.lines.values() {
            for item in &line.items {
                if let (Some(part), Some(spot)) = (item.part, &item.spot) {
                    stood(item.place, part, spot);
                }
            }
        }
        let hung = self.hung.iter().map(|(_, c)| c).chain(self.rungs.iter().map(|(.., c)| c));
        let hung = hung.map(|c| (c.place, &c.canvas));
        for (place, canvas) in hung.chain(self.discharges.iter().map(|f| (f.place, &f.canvas))) {
            for (part, spot) in &canvas.spots {
                stood(place, *part, spot);
            }
        }
        if let Some((store, place)) = self.store
            && let Some(c) = old.centre(store)
        {
            all[place].push(c.x);
        }
        all
    }

    /// Where the top of the cylinder stands.
    fn store_level(&self, levels: &BTreeMap<Name, f64>) -> f64 {
        let Some((store, _)) = self.store else { return 0.0 };
        let spot = self.net.spot(store, Pose::UPRIGHT);
        let back = self.net.port_named(store, "return").and_then(|p| spot.port(p.port));
        let line = levels.get(&Name::OuterReturn).or(levels.get(&Name::Return));
        match (line.filter(|_| self.heated_by_lines()), back) {
            (Some(y), Some((p, _))) => y - p.y,
            _ => levels.get(&Name::Cold).copied().unwrap_or(0.0) - spot.at.h - self.room(),
        }
    }

    /// The cylinder's coil is on the lines drawn here.
    fn heated_by_lines(&self) -> bool {
        let ends_there = self.lines.contains_key(&Name::OuterReturn);
        let on_return = || {
            let (store, _) = self.store?;
            let back = self.net.port_named(store, "return")?;
            let (_, far) = self.net.join(back)?;
            self.place_of(Name::Return, far.part)
        };
        ends_there || on_return().is_some() || self.ends_at_store
    }

    fn room(&self) -> f64 {
        self.s.drop.max(7.5)
    }

    /// y of every line; stretches the columns to their bands.
    fn levels(&mut self, base: f64) -> BTreeMap<Name, f64> {
        let mut s = self.s;
        if self.old.is_some() {
            // The spare height of a band is there to be used.
            s.band = 0.0;
        }
        let tallest = |hung: &[(Name, Column)], name: Name, held: Held| {
            hung.iter()
                .filter(|(n, c)| *n == name && c.held == held)
                .map(|(_, c)| c.height)
                .fold(0.0, f64::max)
        };
        let rung = |rungs: &[(Name, Name, Column)], a: Name, b: Name| {
            rungs
                .iter()
                .filter(|(t, l, _)| *t == a && *l == b)
                .map(|(_, _, c)| c.height + s.drop)
                .fold(0.0, f64::max)
        };
        let mut levels = BTreeMap::new();
        let mut y = 0.0;
        let store = self.store.map(|(p, _)| self.net.spot(p, Pose::UPRIGHT));
        let port = |name: &str| {
            let (part, _) = self.store?;
            let port = self.net.port_named(part, name)?.port;
            Some(store.as_ref()?.port(port)?.0)
        };
        if self.lines.contains_key(&Name::Flow) {
            levels.insert(Name::Flow, y);
            let coil = match (port("flow"), port("return")) {
                (Some(f), Some(r)) => r.y - f.y,
                _ => 0.0,
            };
            let end = self
                .hung
                .iter()
                .filter(|(n, _)| *n == Name::Flow)
                .map(|(_, c)| c.height + coil)
                .fold(0.0, f64::max);
            let rings = 2.0 * snap(s.drop + 2.5);
            let band = rung(&self.rungs, Name::Flow, Name::Return)
                .max(rung(&self.rungs, Name::OuterFlow, Name::OuterReturn) - rings)
                .max(tallest(&self.hung, Name::Return, Held::Below) + s.clear)
                .max(end)
                .max(tallest(&self.hung, Name::Flow, Held::Above) + s.clear)
                + s.band;
            y = self.held(Name::Return, snap(y + band), base);
            levels.insert(Name::Return, y);
        }
        let ring = snap(s.drop + 2.5);
        if self.lines.contains_key(&Name::OuterReturn) {
            levels.insert(Name::OuterFlow, -ring);
            levels.insert(Name::OuterReturn, self.held(Name::OuterReturn, y + ring, base));
        }
        let heating_foot = y;
        if self.lines.contains_key(&Name::SolarFlow) {
            let under = levels.get(&Name::OuterReturn).copied().unwrap_or(y);
            let above = tallest(&self.hung, Name::SolarFlow, Held::Below) + s.clear;
            let flow = self.held(Name::SolarFlow, snap(under + above.max(12.5)), base);
            let between = tallest(&self.hung, Name::SolarReturn, Held::Below)
                .max(tallest(&self.hung, Name::SolarFlow, Held::Above))
                .max(rung(&self.rungs, Name::SolarFlow, Name::SolarReturn))
                + s.clear;
            y = self.held(Name::SolarReturn, snap(flow + between.max(15.0)), base);
            levels.insert(Name::SolarFlow, flow);
            levels.insert(Name::SolarReturn, y);
        }
        if self.lines.contains_key(&Name::Cold) {
            let foot = match (&store, port("return")) {
                (Some(spot), Some(r)) => spot.at.h - r.y + self.room(),
                _ => 0.0,
            };
            let heating = rung(&self.rungs, Name::Return, Name::Cold)
                .max(tallest(&self.hung, Name::Return, Held::Above) + s.clear)
                .max(foot + levels.get(&Name::OuterReturn).map_or(0.0, |o| o - heating_foot));
            // What comes down past the solar circuit goes on under what hangs from that.
            let foot_of = |c: &Column| c.height - c.canvas.bounds().map_or(c.height, |b| b.y);
            let solar = self.lines.contains_key(&Name::SolarReturn);
            let rungs = self
                .rungs
                .iter()
                .filter(|(t, l, _)| solar && (*t, *l) == (Name::Return, Name::Cold));
            let passing = rungs.map(|(.., c)| foot_of(c) + s.drop).fold(0.0, f64::max);
            let hung = tallest(&self.hung, Name::SolarReturn, Held::Above) + s.clear;
            let nearest =
                (tallest(&self.hung, Name::Cold, Held::Below) + s.clear).max(hung + passing);
            let lowest = levels.get(&Name::OuterReturn).map_or(y, |o| o.max(y));
            y = snap((heating_foot + heating).max(lowest + nearest) + s.band / 2.0);
            y = self.held(Name::Cold, y, base);
            levels.insert(Name::Cold, y);
        }
        // The cylinder's top fixes the hot line.
        let top = self.store_level(&levels);
        if self.lines.contains_key(&Name::Hot) {
            let hot = snap(top - self.s.drop.max(7.5));
            levels.insert(Name::Hot, hot);
            let legs: Vec<Name> =
                self.lines.keys().filter(|n| matches!(n, Name::HotLeg(_))).copied().collect();
            // What trims a leg stands between its joint on the return and the hot line.
            let trim = legs
                .iter()
                .map(|leg| rung(&self.rungs, Name::HotReturn, *leg) - s.clear)
                .fold(15.0, f64::max);
            levels.insert(Name::HotReturn, snap(hot - trim));
            for leg in legs {
                levels.insert(leg, snap(hot + s.drop.max(7.5)));
            }
        }
        for (top, low, column) in &mut self.rungs {
            let (Some(a), Some(b)) = (levels.get(top), levels.get(low)) else { continue };
            if matches!(top, Name::HotReturn | Name::Hot | Name::HotLeg(_)) {
                continue;
            }
            let slack = (b - a) - column.height - s.drop;
            if column.canvas.spots.keys().any(|p| self.net.system.part(*p).kind.heats) {
                column.canvas.shift(0.0, snap(slack / 2.0));
            } else if slack > 0.0 {
                column.stretch(self.net, snap(slack));
            }
        }
        self.set_discharges(&levels, top, base);
        let mut low = y + tallest(&self.hung, Name::Cold, Held::Above);
        for fall in &self.discharges {
            low = low.max(fall.canvas.bounds().map_or(0.0, |b| b.bottom()));
        }
        low = snap(low + s.drop + s.band / 4.0);
        let branches: Vec<Name> =
            self.lines.keys().filter(|n| matches!(n, Name::Branch(_))).copied().collect();
        for name in branches {
            let hot = levels.get(&Name::Hot).copied().unwrap_or(0.0);
            low = low.max(snap(hot + rung(&self.rungs, Name::Hot, name)));
            for (leg, y) in levels.clone().range(Name::HotLeg(0)..Name::OuterFlow) {
                low = low.max(snap(y + rung(&self.rungs, *leg, name)));
            }
            low = self.held(name, low, base);
            levels.insert(name, low);
            low = snap(low + s.drop + 2.5 + tallest(&self.hung, name, Held::Above));
        }
        for name in [Name::Hot, Name::Flow, Name::Return, Name::Cold] {
            if let (Some(line), Some(y)) = (self.lines.get_mut(&name), levels.get(&name)) {
                line.y = *y;
            }
        }
        levels
    }

    /// What runs from the heating down to the cold passes left of the collector rather than round
    /// it, where that costs little width.
    fn beside_the_collector(&mut self) {
        // Pipe and words between the two, mm; and how much wider the whole may become.
        const WORDS: f64 = 12.5;
        const WIDER: f64 = 1.3;
        let own = self.rungs.iter().find(|(top, ..)| *top == Name::SolarFlow);
        let Some((collector, left)) = own.map(|(.., c)| (c.place, c.left)) else { return };
        let passes = |(top, low, _): &&(Name, Name, Column)| {
            matches!((top, low), (Name::Return, Name::Cold))
        };
        let passing: Vec<usize> = self.rungs.iter().filter(passes).map(|(.., c)| c.place).collect();
        let width = |cols: &Columns| cols.solve().into_iter().fold(0.0, f64::max);
        for place in passing {
            let kept = self.cols.clone();
            self.cols.demand(place, collector, left + WORDS);
            if width(&self.cols) > width(&kept) * WIDER {
                self.cols = kept;
            }
        }
    }

    /// What hangs in one band stands side by side.
    fn keep_apart(&mut self) {
        let mut bands: [Vec<(usize, f64, f64)>; 8] = Default::default();
        for (name, c) in &self.hung {
            let band = match (name, c.held) {
                (Name::Flow | Name::OuterFlow, Held::Below) => 0,
                (Name::OuterFlow, _) => 1,
                (Name::OuterReturn, _) | (Name::SolarFlow, Held::Below) => 2,
                (Name::SolarFlow, _) | (Name::SolarReturn, Held::Below) => 5,
                (Name::SolarReturn, _) => 6,
                (Name::Flow, _) | (Name::Return, Held::Below) => 1,
                (Name::Return, _) | (Name::Cold, Held::Below) => 2,
                (Name::Cold, _) => 3,
                _ => 4,
            };
            bands[band].push((c.place, c.left, c.right));
        }
        for (top, _, c) in &self.rungs {
            let band = match top {
                Name::Flow | Name::OuterFlow => 1,
                Name::Return => 2,
                Name::SolarFlow => 5,
                Name::HotReturn => 7,
                _ => 4,
            };
            bands[band].push((c.place, c.left, c.right));
        }
        if let Some((store, place)) = self.store {
            let (w, _) = self.net.size(store);
            let half = w / 2.0 + 1.25;
            // The cylinder stands right of all that leads to it.
            for name in [Name::Flow, Name::Return, Name::OuterFlow, Name::OuterReturn] {
                let Some(last) = self.lines.get(&name).and_then(|l| l.items.last()) else {
                    continue;
                };
                let (from, by) = (last.place, last.right + self.s.gap + half);
                self.cols.demand(from, place, by);
            }
            let drop = if self.comes_back { BESIDE_STORE } else { 0.0 };
            bands[1].push((place, half + drop + 2.5, half));
            bands[2].push((place, half, half));
            for fall in &self.discharges {
                let b = fall.canvas.bounds().unwrap_or_default();
                let (left, right) = (snap(-b.x), snap(b.right()));
                if fall.store == store {
                    for (p, l, _) in bands[4].clone() {
                        self.cols.demand(fall.place, p, right + self.s.beside + l);
                    }
                } else {
                    bands[1].push((fall.place, left, right));
                    bands[2].push((fall.place, left, right));
                }
                bands[3].push((fall.place, left, right));
            }
        }
        for band in &mut bands {
            band.sort_by_key(|a| a.0);
            band.dedup_by(|a, b| {
                let same = a.0 == b.0;
                if same {
                    b.1 = b.1.max(a.1);
                    b.2 = b.2.max(a.2);
                }
                same
            });
            let x = self.order();
            band.sort_by(|a, b| x[a.0].total_cmp(&x[b.0]).then(a.0.cmp(&b.0)));
            for pair in band.windows(2) {
                let by = pair[0].2 + self.s.beside + pair[1].1;
                self.cols.demand(pair[0].0, pair[1].0, by);
            }
        }
    }

    /// Tall symbols of two lines that run close above each other stand side by side.
    fn lines_apart(&mut self, levels: &BTreeMap<Name, f64>) {
        let legs = self.lines.keys().filter(|n| matches!(n, Name::HotLeg(_)));
        let mut close: Vec<(Name, Name)> = legs.map(|leg| (Name::Hot, *leg)).collect();
        close.extend([
            (Name::OuterFlow, Name::Flow),
            (Name::Return, Name::OuterReturn),
            (Name::HotReturn, Name::Hot),
        ]);
        for (upper, lower) in close {
            let (Some(a), Some(b)) = (self.lines.get(&upper), self.lines.get(&lower)) else {
                continue;
            };
            let (Some(at), Some(bt)) = (levels.get(&upper), levels.get(&lower)) else { continue };
            let mut pairs = Vec::new();
            for i in &a.items {
                for j in &b.items {
                    let (Some(p), Some(q)) = (&i.spot, &j.spot) else { continue };
                    if i.part != j.part && p.at.bottom() + at + GRID > q.at.y + bt {
                        pairs.push((i.place, i.left, i.right, j.place, j.left, j.right));
                    }
                }
            }
            for (p, pl, pr, q, ql, qr) in pairs {
                let x = self.order();
                let clear = self.s.beside;
                if x[p] <= x[q] && self.cols.demand(p, q, pr + clear + ql) {
                    continue;
                }
                if !self.cols.demand(q, p, qr + clear + pl) {
                    self.cols.demand(p, q, pr + clear + ql);
                }
            }
        }
    }

    /// A header as tall as the two lines it joins.
    fn stretch_header(&self, out: &mut Canvas, part: PartIx, top: f64, low: f64) {
        let Some(spot) = out.spots.get_mut(&part) else { return };
        const OVER: f64 = 5.0;
        spot.at.y = top - OVER;
        spot.at.h = low - top + 2.0 * OVER;
        let rows = &self.net.system.part(part).kind.ports;
        let h = self.net.size(part).1;
        for (port, row) in spot.ports.iter_mut().zip(rows) {
            if let Some((p, _)) = port {
                p.y = if row.off < h / 2.0 { OVER } else { spot.at.h - OVER };
            }
        }
    }
}

/// Raises what stands on a line over what stands in the line beside it.
fn lift(out: &Canvas, canvas: &mut Canvas, dx: f64, dy: f64) {
    const STEPS: usize = 16;
    for _ in 0..STEPS {
        let meets = canvas.spots.values().any(|s| {
            let at = s.clone().moved(dx, dy).at.grown(GRID);
            out.spots.values().any(|o| o.at.overlaps(&at) && o.at.centre().y > dy - 10.0)
        });
        if !meets {
            return;
        }
        canvas.shift(0.0, -GRID);
    }
}

/// All that finds its room free; the rest is left to grow elsewhere.
fn put_all(out: &mut Canvas, canvas: &Canvas, dx: f64, dy: f64) {
    for (part, spot) in &canvas.spots {
        let spot = spot.clone().moved(dx, dy);
        let clear = out.spots.values().all(|s| !s.at.overlaps(&spot.at.grown(1.0)));
        if clear && !out.has(*part) {
            out.put(*part, spot);
        }
    }
}
