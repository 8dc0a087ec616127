//! What of a view is taken, as a raster: whether a box is free is four look-ups, however much
//! stands in the view. In: the view, what is in the way. Out: yes or no, never a false yes.

use crate::model::Rect;

/// Side of a cell, mm on paper.
const CELL: f64 = 0.25;

/// How many cells are taken above and to the left of each corner.
pub struct Taken {
    view: Rect,
    columns: usize,
    sums: Vec<u32>,
}

impl Taken {
    pub fn new(view: Rect, obstacles: &[Rect]) -> Taken {
        let cells = |length: f64| (length / CELL).ceil().max(1.0) as usize + 1;
        let (columns, rows) = (cells(view.w), cells(view.h));
        let mut cell = vec![false; columns * rows];
        for o in obstacles {
            let low = |v: f64| (v / CELL).floor().max(0.0) as usize;
            let high = |v: f64, most: usize| ((v / CELL).ceil().max(0.0) as usize).min(most);
            let across = low(o.x - view.x)..high(o.right() - view.x, columns);
            for row in low(o.y - view.y)..high(o.bottom() - view.y, rows) {
                for column in across.clone() {
                    cell[row * columns + column] = true;
                }
            }
        }
        let wide = columns + 1;
        let mut sums = vec![0; wide * (rows + 1)];
        for row in 0..rows {
            let mut here = 0;
            for column in 0..columns {
                here += u32::from(cell[row * columns + column]);
                sums[(row + 1) * wide + column + 1] = sums[row * wide + column + 1] + here;
            }
        }
        Taken { view, columns, sums }
    }

    /// True where the box lies in the view and nothing stands in it.
    pub fn free(&self, b: &Rect) -> bool {
        let v = &self.view;
        if b.x < v.x || b.y < v.y || b.right() > v.right() || b.bottom() > v.bottom() {
            return false;
        }
        let cell = |length: f64| (length / CELL) as usize;
        let (x0, y0) = (cell(b.x - v.x), cell(b.y - v.y));
        let (x1, y1) = (cell(b.right() - v.x) + 1, cell(b.bottom() - v.y) + 1);
        let sum = |x: usize, y: usize| self.sums[y * (self.columns + 1) + x];
        sum(x1, y1) + sum(x0, y0) == sum(x1, y0) + sum(x0, y1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_box_is_free_where_nothing_stands() {
        let view = Rect::new(10.0, 20.0, 50.0, 40.0);
        let taken = Taken::new(view, &[Rect::new(30.0, 30.0, 5.0, 5.0)]);
        assert!(taken.free(&Rect::new(20.0, 30.0, 9.5, 5.0)));
        assert!(!taken.free(&Rect::new(20.0, 30.0, 10.5, 5.0)));
        assert!(taken.free(&Rect::new(35.5, 30.0, 10.0, 5.0)));
        assert!(!taken.free(&Rect::new(55.0, 30.0, 10.0, 5.0)), "outside the view");
        assert!(taken.free(&view.grown(-0.01).lower_half()));
    }

    impl Rect {
        fn lower_half(self) -> Rect {
            Rect::new(self.x, self.y + self.h / 2.0, self.w, self.h / 2.0)
        }
    }
}
