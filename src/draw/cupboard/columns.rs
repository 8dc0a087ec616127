//! Labels that found no room in a view, in columns beside it. In: what wants a label, the view, the
//! columns. Out: the labels with leaders that don't cross each other within a column.

use super::callouts::{HEIGHT, ROW, Request, labelled, leader, meet};
use super::dimension::spread;
use crate::draw::scene::{Anchor, Item, Words};
use crate::lettering::{Weight, width as text_width};
use crate::model::{P2, Rect};

/// From the view to the column's text: room for the leaders to fan out.
const FAN: f64 = 12.0;
/// Leaders run level from here to the text.
const STUB: f64 = 3.0;

/// Room for labels beside a view.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    pub at: Rect,
    /// True: at the view's left.
    pub at_left: bool,
}

/// Each request in the column on its side of the view.
pub fn in_columns(requests: Vec<Request>, view: Rect, columns: &[Column]) -> Vec<Item> {
    let both = columns.iter().any(|c| c.at_left) && columns.iter().any(|c| !c.at_left);
    let on_left = |r: &Request| r.anchor.x < view.centre().x;
    columns
        .iter()
        .flat_map(|c| {
            let own = requests.iter().filter(|r| !both || on_left(r) == c.at_left);
            in_column(own.cloned().collect(), view, *c)
        })
        .collect()
}

/// In the order of their heights. Where one column is full a second follows; its rows stand half a
/// row lower, so that its leaders pass between the rows of the first.
fn in_column(mut requests: Vec<Request>, view: Rect, column: Column) -> Vec<Item> {
    let outwards = if column.at_left { -1.0 } else { 1.0 };
    let (edge, mut x) = if column.at_left {
        (view.x - STUB, column.at.right() - FAN)
    } else {
        (view.right() + STUB, column.at.x + FAN)
    };
    // Two things at one height: the outer one gets the upper row, so leaders don't cross.
    requests.sort_by(|a, b| {
        let out = |r: &Request| -outwards * r.anchor.x;
        a.anchor.y.total_cmp(&b.anchor.y).then(out(a).total_cmp(&out(b))).then(a.of.cmp(&b.of))
    });
    let mut items = Vec::new();
    let rows = ((column.at.h / ROW) as usize).max(1);
    for (i, chunk) in requests.chunks_mut(rows).enumerate() {
        let shift = if i % 2 == 1 { ROW / 2.0 } else { 0.0 };
        let wanted: Vec<f64> = chunk.iter().map(|r| r.anchor.y).collect();
        let elbows: Vec<P2> = within(spread(&wanted, ROW), column.at)
            .into_iter()
            .map(|y| {
                let y = column.at.y + ((y - column.at.y) / ROW).round() * ROW + shift;
                P2::new(edge, y)
            })
            .collect();
        untangle(chunk, &elbows);
        for (request, elbow) in chunk.iter().zip(elbows) {
            let end = P2::new(x - outwards * 0.8, elbow.y);
            items.extend(leader(request, &[request.anchor, elbow, end]));
            let at = P2::new(x, elbow.y + HEIGHT / 2.0);
            let words = Words::new(at, request.text.clone(), HEIGHT);
            let anchor = if column.at_left { Anchor::End } else { Anchor::Start };
            items.push(labelled(words.anchor(anchor), &request.of));
        }
        let widest =
            chunk.iter().map(|r| text_width(&r.text, HEIGHT, Weight::Regular)).fold(0.0, f64::max);
        x += outwards * (widest + 4.0);
    }
    items
}

/// Exchanges rows of two leaders that cross until none do: each exchange shortens the whole.
fn untangle(requests: &mut [Request], elbows: &[P2]) {
    let n = requests.len();
    // Every exchange shortens the sum, so this ends; the bound is for rounding alone.
    for _ in 0..n * n {
        let crossing = (0..n)
            .flat_map(|i| (i + 1..n).map(move |j| (i, j)))
            .find(|(i, j)| meet(requests[*i].anchor, elbows[*i], requests[*j].anchor, elbows[*j]));
        let Some((i, j)) = crossing else { return };
        requests.swap(i, j);
    }
}

/// Moves a spread column into its span without letting rows come closer.
fn within(mut places: Vec<f64>, column: Rect) -> Vec<f64> {
    let (low, high) = (column.y + ROW / 2.0, column.bottom() - ROW / 2.0);
    let n = places.len();
    for (i, p) in places.iter_mut().enumerate() {
        *p = p.max(low + i as f64 * ROW);
    }
    for (i, p) in places.iter_mut().enumerate() {
        *p = p.min(high - (n - 1 - i) as f64 * ROW);
    }
    places
}
