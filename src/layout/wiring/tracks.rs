//! Tracks of a wiring channel: cores as intervals between two columns. In: intervals. Out: a track
//! for each, as few as the densest column demands, in the order with the fewest crossings found.

#[derive(Clone, Copy, Debug)]
pub struct Track {
    pub conductor: usize,
    pub top: bool,
    /// The pin of the device, and the pin of the strip or of the other device.
    pub from: i32,
    pub to: i32,
    /// 0 is nearest the devices.
    pub track: usize,
    /// The strip's cell; `None` where both ends are at devices.
    pub cell: Option<usize>,
}

fn span(t: &Track) -> (i32, i32) {
    (t.from.min(t.to), t.from.max(t.to))
}

/// Left edge: intervals by their left end, each on the first track that is free there.
pub fn left_edge(tracks: &mut [Track]) -> usize {
    let mut by_left: Vec<usize> = (0..tracks.len()).collect();
    by_left.sort_by_key(|i| (span(&tracks[*i]), tracks[*i].conductor));
    let mut ends: Vec<i32> = Vec::new();
    for i in by_left {
        let (l, r) = span(&tracks[i]);
        match ends.iter().position(|e| *e < l) {
            Some(k) => {
                ends[k] = r;
                tracks[i].track = k;
            }
            None => {
                tracks[i].track = ends.len();
                ends.push(r);
            }
        }
    }
    ends.len()
}

/// The most intervals that share a column.
pub fn density(tracks: &[Track]) -> usize {
    tracks
        .iter()
        .map(|t| {
            let x = span(t).0;
            tracks.iter().filter(|o| span(o).0 <= x && x <= span(o).1).count()
        })
        .max()
        .unwrap_or(0)
}

/// Crossings of uprights with tracks on one side.
pub fn crossings(tracks: &[Track]) -> usize {
    let mut n = 0;
    for a in tracks {
        for b in tracks.iter().filter(|b| b.conductor != a.conductor) {
            let (l, r) = span(b);
            let inside = |x: i32| l < x && x < r;
            n += usize::from(b.track < a.track && inside(a.from));
            n += usize::from(match a.cell {
                None => b.track < a.track && inside(a.to),
                Some(_) => b.track > a.track && inside(a.to),
            });
        }
    }
    n
}

/// Exchanges whole tracks while that saves crossings.
pub fn order_tracks(tracks: &mut [Track], depth: usize) {
    let mut best = crossings(tracks);
    loop {
        let before = best;
        for i in 0..depth {
            for j in i + 1..depth {
                let swap = |tracks: &mut [Track]| {
                    for t in tracks.iter_mut() {
                        t.track = match t.track {
                            k if k == i => j,
                            k if k == j => i,
                            k => k,
                        };
                    }
                };
                swap(tracks);
                let now = crossings(tracks);
                if now < best {
                    best = now;
                } else {
                    swap(tracks);
                }
            }
        }
        if best == before {
            return;
        }
    }
}
