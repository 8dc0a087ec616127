//! Running dimensions from a datum (ISO 129-1: superimposed running dimensioning). In: the places
//! of features along one axis. Out: the dimension line with its origin circle, a mark at each
//! feature, and figures that never touch each other.

use crate::draw::scene::{Anchor, Group, Ink, Item, Mark, Shape, Stroke, Words};
use crate::draw::style::{letters, width};
use crate::lettering::{Weight, font_size, width as text_width};
use crate::model::{P2, whole_mm};

/// Figures stand at least this far apart, baseline to baseline.
const PITCH: f64 = letters::SMALL * 1.5;
/// From the object to the dimension line, and from there to the figures.
const STAND_OFF: f64 = 4.0;
const TO_FIGURE: f64 = 4.0;

/// What a figure is worth to who sets out, the most first: of two that hardly differ, the first is
/// printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Worth {
    Drilled,
    Pipe,
    Body,
}

/// One dimensioned feature: its real value in mm and its place on paper along the axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Feature {
    pub real: f64,
    pub paper: f64,
    pub worth: Worth,
}

/// Figures that differ by no more are one on a drawing that is set out to within 10 mm; the tables
/// give each.
const SAME: f64 = 2.0;

/// Sorts, and drops what would print nearly the same figure twice.
fn tidy(mut features: Vec<Feature>) -> Vec<Feature> {
    features.sort_by(|a, b| a.worth.cmp(&b.worth).then(a.real.total_cmp(&b.real)));
    let mut kept: Vec<Feature> = Vec::new();
    for f in features {
        if kept.iter().all(|k| (k.real.round() - f.real.round()).abs() > SAME + 0.5) {
            kept.push(f);
        }
    }
    kept.sort_by(|a, b| a.real.total_cmp(&b.real));
    kept
}

/// Places along a line, kept in order and at least `pitch` apart, as near as may be to where they
/// want to be: the pool-adjacent-violators method on shifted positions.
pub fn spread(wanted: &[f64], pitch: f64) -> Vec<f64> {
    let mut blocks: Vec<(f64, usize)> = Vec::new();
    for (i, w) in wanted.iter().enumerate() {
        blocks.push((w - i as f64 * pitch, 1));
        while let [.., (a, n), (b, m)] = blocks[..] {
            if a <= b {
                break;
            }
            let joined = (a * n as f64 + b * m as f64) / (n + m) as f64;
            blocks.truncate(blocks.len() - 2);
            blocks.push((joined, n + m));
        }
    }
    let shifts = blocks.iter().flat_map(|(at, n)| std::iter::repeat_n(*at, *n));
    shifts.enumerate().map(|(i, at)| at + i as f64 * pitch).collect()
}

/// Heights up the left of a view: `edge` is the view's left edge on paper, `off` what stands between
/// it and the line, `origin` the datum's y. Returns the items and the width they take.
pub fn up_the_left(
    edge: f64,
    off: f64,
    origin: f64,
    axis: char,
    features: Vec<Feature>,
) -> (Vec<Item>, f64) {
    let mut features = tidy(features);
    // From the foot of the sheet up, whichever way the axis runs.
    features.sort_by(|a, b| b.paper.total_cmp(&a.paper));
    let line = edge - off - STAND_OFF;
    let figures: Vec<String> = features.iter().map(|f| whole_mm(f.real)).collect();
    let widest =
        figures.iter().map(|f| text_width(f, letters::SMALL, Weight::Regular)).fold(0.0, f64::max);
    let mut items = Vec::new();
    // Paper y falls as z grows: spread on the negative.
    let wanted: Vec<f64> = features.iter().map(|f| -f.paper).collect();
    let places = spread(&wanted, PITCH);
    let far = features
        .iter()
        .map(|f| f.paper)
        .fold(origin, |far, p| if (p - origin).abs() > (far - origin).abs() { p } else { far });
    items.push(axis_line(P2::new(line, origin), P2::new(line, far)));
    items.push(origin_mark(P2::new(line, origin)));
    let places = beyond(origin, far, places.iter().map(|y| -y).collect());
    for ((f, figure), y) in features.iter().zip(&figures).zip(places) {
        let thin = || Stroke::solid(width::THIN, Ink::BLACK);
        let figure_edge = line - TO_FIGURE;
        let jog = [
            P2::new(edge - 1.0, f.paper),
            P2::new(line - 1.0, f.paper),
            P2::new(figure_edge + 0.6, y),
        ];
        let words =
            Words::new(P2::new(figure_edge, y + letters::SMALL / 2.0), figure, letters::SMALL)
                .anchor(Anchor::End);
        items.push(dimensioned(
            axis,
            f.real,
            vec![
                Shape::line(&jog, thin()).into(),
                stroke_mark(P2::new(line, f.paper)),
                words.into(),
            ],
        ));
    }
    (items, off + STAND_OFF + TO_FIGURE + widest)
}

/// Figures that crowd at the datum spread away from it, not past it: its name stands there. Places
/// come from the foot of the sheet up.
fn beyond(origin: f64, far: f64, mut places: Vec<f64>) -> Vec<f64> {
    let away = if far < origin { -1.0 } else { 1.0 };
    let mut least = 0.0_f64;
    let mut push = |y: &mut f64| {
        let off = ((*y - origin) * away).max(least);
        *y = origin + away * off;
        least = off + PITCH;
    };
    if away < 0.0 {
        places.iter_mut().for_each(&mut push);
    } else {
        places.iter_mut().rev().for_each(&mut push);
    }
    places
}

/// In how many rows the figures along the bottom may stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rows {
    One,
    /// Every second figure of a crowd below the others, its line between theirs.
    Two,
}

/// Between neighbours in two rows: in each then half an em of white between figures, and a line of
/// the lower row clear of the figures that it passes.
const NARROW: f64 = letters::SMALL * 0.8;
/// Between the rows, and what then is enough from the object to the line and from that to the upper
/// row: lines hardly slant.
const APART: f64 = 0.8;
const CLOSE: f64 = 3.0;
const NEAR: f64 = 2.6;

/// The row of each figure: the upper where there is room for it.
fn rows_of(places: &[f64], rows: Rows) -> Vec<usize> {
    let mut last = f64::MIN;
    let row = |x: &f64| {
        if rows == Rows::One || *x - last >= 2.0 * NARROW - 1e-6 {
            last = *x;
            return 0;
        }
        1
    };
    places.iter().map(row).collect()
}

/// Distances along the bottom of a view: `edge` is its bottom edge, `origin` the datum's x.
/// Figures read upwards. Returns the items and the depth they take.
pub fn along_the_bottom(
    edge: f64,
    origin: f64,
    axis: char,
    features: Vec<Feature>,
    rows: Rows,
) -> (Vec<Item>, f64) {
    let features = tidy(features);
    let mut features = features;
    features.sort_by(|a, b| a.paper.total_cmp(&b.paper));
    let wanted: Vec<f64> = features.iter().map(|f| f.paper).collect();
    let places = spread(&wanted, if rows == Rows::Two { NARROW } else { PITCH });
    let rows = rows_of(&places, rows);
    let figures: Vec<String> = features.iter().map(|f| whole_mm(f.real)).collect();
    let widest =
        figures.iter().map(|f| text_width(f, letters::SMALL, Weight::Regular)).fold(0.0, f64::max);
    let (stand_off, to_figure) =
        if rows.contains(&1) { (CLOSE, NEAR) } else { (STAND_OFF, TO_FIGURE) };
    let (line, step) = (edge + stand_off, widest + APART);
    let mut items = Vec::new();
    let far = features
        .iter()
        .map(|f| f.paper)
        .fold(origin, |far, p| if (p - origin).abs() > (far - origin).abs() { p } else { far });
    items.push(axis_line(P2::new(origin, line), P2::new(far, line)));
    items.push(origin_mark(P2::new(origin, line)));
    for (((f, x), row), figure) in features.iter().zip(places).zip(&rows).zip(figures) {
        let thin = || Stroke::solid(width::THIN, Ink::BLACK);
        let figure_edge = line + to_figure;
        let at = figure_edge + step * *row as f64;
        let mut jog = vec![
            P2::new(f.paper, edge + 1.0),
            P2::new(f.paper, line + 0.7),
            P2::new(x, figure_edge - 0.5),
        ];
        jog.extend((*row > 0).then_some(P2::new(x, at - 0.6)));
        let words = Words::new(P2::new(x + letters::SMALL / 2.0, at), figure, letters::SMALL)
            .anchor(Anchor::End)
            .upwards();
        items.push(dimensioned(
            axis,
            f.real,
            vec![
                Shape::line(&jog, thin()).into(),
                stroke_mark(P2::new(f.paper, line)),
                words.into(),
            ],
        ));
    }
    let lowest = rows.into_iter().max().unwrap_or(0) as f64;
    (items, stand_off + to_figure + widest + step * lowest + font_size(letters::SMALL) * 0.2)
}

fn dimensioned(axis: char, value: f64, items: Vec<Item>) -> Item {
    Group { mark: Mark::Dimension { axis, value: value.round() }, title: None, items }.into()
}

fn axis_line(from: P2, to: P2) -> Item {
    Shape::line(&[from, to], Stroke::solid(width::THIN, Ink::BLACK)).into()
}

/// The circle that says: measured from here.
fn origin_mark(at: P2) -> Item {
    let edge = Stroke::solid(width::THIN, Ink::BLACK);
    Shape::circle(at, 1.0, Some(edge), Some(Ink::WHITE)).into()
}

/// The oblique stroke of building drawings.
fn stroke_mark(at: P2) -> Item {
    let ends = [P2::new(at.x - 1.0, at.y + 1.0), P2::new(at.x + 1.0, at.y - 1.0)];
    Shape::line(&ends, Stroke::solid(width::SYMBOL, Ink::BLACK)).into()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 710 is drilled: 708 and 711 go without, 713 has its own.
    #[test]
    fn figures_that_hardly_differ_are_one() {
        let feature = |real: f64, worth| Feature { real, paper: real / 10.0, worth };
        let all = vec![
            feature(708.0, Worth::Pipe),
            feature(710.0, Worth::Drilled),
            feature(711.0, Worth::Body),
            feature(713.0, Worth::Pipe),
        ];
        let kept: Vec<f64> = tidy(all).iter().map(|f| f.real).collect();
        assert_eq!(kept, [710.0, 713.0]);
    }

    /// Crowded figures alternate, and neither figures of a row nor a figure and the line of the row
    /// below come nearer than half a figure and a hair.
    #[test]
    fn a_crowd_stands_in_two_rows() {
        let places = spread(&[0.0, 1.0, 2.0, 3.0, 50.0, 60.0], NARROW);
        let rows = rows_of(&places, Rows::Two);
        assert_eq!(rows, [0, 1, 0, 1, 0, 0]);
        assert!(places.windows(2).all(|p| p[1] - p[0] > letters::SMALL / 2.0 + 0.6));
        assert_eq!(rows_of(&places, Rows::One), [0; 6]);
    }

    #[test]
    fn figures_keep_apart_in_order_and_near() {
        let places = spread(&[0.0, 1.0, 2.0, 50.0], 4.0);
        assert!(places.windows(2).all(|p| p[1] - p[0] >= 4.0 - 1e-9));
        // Three that crowd are centred on their mean.
        assert!((places[1] - 1.0).abs() < 1e-9);
        assert_eq!(places[3], 50.0);
    }

    #[test]
    fn crowded_figures_stay_on_their_side_of_the_datum() {
        // Datum at the top, sheet y grows down; places come from the foot up.
        assert_eq!(beyond(10.0, 90.0, vec![60.0, 12.0, 8.0]), [60.0, 10.0 + PITCH, 10.0]);
        // Datum at the foot.
        assert_eq!(beyond(90.0, 10.0, vec![91.0, 40.0]), [90.0, 40.0]);
    }

    /// ISO 129-1 running dimensions are printed whole, half away from zero; a chain is the
    /// difference of what is printed.
    #[test]
    fn running_values_print_whole() {
        let printed: Vec<f64> = [59.6_f64, 150.4, 460.5].iter().map(|v| v.round()).collect();
        assert_eq!(printed, [60.0, 150.0, 461.0]);
        let chain: Vec<f64> =
            [printed[0], printed[1] - printed[0], printed[2] - printed[1]].to_vec();
        assert_eq!(chain, [60.0, 90.0, 311.0]);
    }
}
