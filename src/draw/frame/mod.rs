//! The frame and the title block that every sheet wears: ISO 5457 borders, ISO 7200 fields, the
//! trade's own fields, the revision table. In: a sheet's content, the job. Out: the dressed sheet.

mod block;

pub use self::block::title_block;
use self::block::{REVISIONS_SHOWN, ROW, block, strip};
use super::scene::{Anchor, Group, Ink, Item, Mark, Paper, Shape, Sheet, Stroke, Words};
use super::style::width;
use crate::model::{P2, Rect, System};

/// Filing margin on the left, and the margin elsewhere (ISO 5457:1999, from memory), mm.
const FILING: f64 = 20.0;
const MARGIN: f64 = 10.0;
/// Width of the strip for the grid reference, outside the frame.
const STRIP: f64 = 5.0;
/// Length of a grid field.
const FIELD: f64 = 50.0;

const CAPTION: f64 = 2.5;

/// Keys of the sheets that wear a strip in place of the title block.
const FOR_THE_DOOR: [&str; 2] = ["householder", "labels"];

/// What the title block prints.
#[derive(Clone, Debug, Default)]
pub struct TitleData {
    pub owner: String,
    pub client: String,
    pub address: String,
    pub job: String,
    pub number: String,
    pub drawn: String,
    pub checked: String,
    pub approved: String,
    pub installer: String,
    pub status: String,
    pub rules: String,
    pub assumed: usize,
    /// Errors and warnings that the rules find in the design, and the rules that find them.
    pub errors: usize,
    pub error_rules: Vec<&'static str>,
    pub warnings: usize,
    pub warning_rules: Vec<&'static str>,
    /// Number of the sheet of findings, 0 where there is none.
    pub findings_sheet: usize,
    /// A drawing that bears no marks of what stands against its parts.
    pub unmarked: bool,
    /// Lines of the description of which something was not read.
    pub unread: usize,
    /// Some of it lies outside what the rules cover.
    pub out_of_scope: bool,
    pub digest: String,
    /// Index, date, note, by; oldest first.
    pub revisions: Vec<[String; 4]>,
}

impl TitleData {
    pub fn of(system: &System) -> TitleData {
        let job = &system.job;
        let field = |key: &str| job.fields.get(key).cloned().unwrap_or_default();
        let edition = &system.rules.edition.value;
        let nation = nation(&system.rules.jurisdiction.value);
        let rules = if edition.is_empty() { nation } else { format!("{nation}, {edition}") };
        TitleData {
            owner: field("owner"),
            client: field("client"),
            address: field("address"),
            job: job.name.clone(),
            number: job.number.clone(),
            drawn: field("drawn"),
            checked: field("checked"),
            approved: field("approved"),
            installer: [field("installer"), field("card")].join(" ").trim().to_owned(),
            status: job.status.clone(),
            rules,
            assumed: system.assumptions.len(),
            errors: 0,
            error_rules: Vec::new(),
            warnings: 0,
            warning_rules: Vec::new(),
            findings_sheet: 0,
            unmarked: false,
            unread: 0,
            out_of_scope: false,
            digest: system.digest(),
            revisions: job
                .revisions
                .iter()
                .map(|r| [r.index.clone(), r.date.clone(), r.note.clone(), r.by.clone()])
                .collect(),
        }
    }

    /// Mandatory fields of ISO 7200 that are blank. Sheet, title and document type are never blank.
    pub fn missing(&self) -> Vec<&'static str> {
        let (_, date) = self.last_revision();
        [
            ("owner", self.owner.as_str()),
            ("number", &self.number),
            ("date of issue", date),
            ("approved by", &self.approved),
            ("drawn by", &self.drawn),
        ]
        .into_iter()
        .filter(|(_, value)| value.trim().is_empty())
        .map(|(name, _)| name)
        .collect()
    }

    /// Where the findings stand in full.
    pub fn findings_at(&self) -> String {
        match self.findings_sheet {
            0 => "see the sheet of findings".to_owned(),
            n => format!("see sheet {n}, findings"),
        }
    }

    fn last_revision(&self) -> (&str, &str) {
        self.revisions.last().map_or(("", ""), |r| (&r[0], &r[1]))
    }

    fn revision_rows(&self) -> usize {
        self.revisions.len().min(REVISIONS_SHOWN)
    }
}

/// The first letter upper case.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |c| c.to_uppercase().to_string() + letters.as_str())
}

/// "northern-ireland" as a title: "Northern Ireland".
pub fn nation(word: &str) -> String {
    word.split('-').map(capital).collect::<Vec<_>>().join(" ")
}

/// The drawing space inside the frame.
pub fn drawing_space(paper: Paper) -> Rect {
    Rect::new(FILING, MARGIN, paper.w - FILING - MARGIN, paper.h - 2.0 * MARGIN)
}

/// What is left for a drawing above the title block, over the whole width.
pub fn space_above_block(paper: Paper, title: &TitleData) -> Rect {
    let space = drawing_space(paper);
    Rect::new(space.x, space.y, space.w, title_block(paper, title).y - space.y)
}

/// What is left above the strip of a sheet for the door.
pub fn space_above_strip(paper: Paper) -> Rect {
    let space = drawing_space(paper);
    Rect::new(space.x, space.y, space.w, space.h - ROW)
}

/// Puts the frame under and the title block over the content: sheet `n` of `of`.
pub fn dress(mut sheet: Sheet, title: &TitleData, n: usize, of: usize) -> Sheet {
    let mut frame = border(sheet.paper);
    // What hangs on the door or is cut out is not for the drawing office.
    if FOR_THE_DOOR.contains(&sheet.key.trim_end_matches(|c: char| c == '-' || c.is_ascii_digit()))
    {
        frame.extend(strip(&sheet, title, n, of));
    } else {
        frame.extend(block(&sheet, title, n, of));
    }
    sheet.items.insert(0, Group { mark: Mark::Layer("frame"), title: None, items: frame }.into());
    sheet
}

fn border(paper: Paper) -> Vec<Item> {
    let space = drawing_space(paper);
    let thin = || Stroke::solid(width::SYMBOL, Ink::BLACK);
    let bold = || Stroke::solid(width::FRAME, Ink::BLACK);
    let mut items: Vec<Item> = vec![Shape::rect(space, Some(bold()), None).into()];
    // Small sheets are read in the hand: no grid reference on A4.
    if paper.w.max(paper.h) < 400.0 {
        return items;
    }
    let outer = space.grown(STRIP);
    items.push(Shape::rect(outer, Some(thin()), None).into());
    let (cx, cy) = (paper.w / 2.0, paper.h / 2.0);
    for y in [space.y - STRIP, space.bottom()] {
        items.push(Shape::line(&[P2::new(cx, y), P2::new(cx, y + STRIP)], bold()).into());
        fields(cx, space.x, space.right(), |i, from, to, edge| {
            if let Some(x) = edge {
                items.push(Shape::line(&[P2::new(x, y), P2::new(x, y + STRIP)], thin()).into());
            }
            let at = P2::new((from + to) / 2.0, y + 3.75);
            items.push(Words::new(at, (i + 1).to_string(), CAPTION).anchor(Anchor::Middle).into());
        });
    }
    for x in [space.x - STRIP, space.right()] {
        items.push(Shape::line(&[P2::new(x, cy), P2::new(x + STRIP, cy)], bold()).into());
        fields(cy, space.y, space.bottom(), |i, from, to, edge| {
            if let Some(y) = edge {
                items.push(Shape::line(&[P2::new(x, y), P2::new(x + STRIP, y)], thin()).into());
            }
            // Letters I and O would read as figures.
            let letter = "ABCDEFGHJKLMNP".chars().nth(i).unwrap_or('Z').to_string();
            let at = P2::new(x + STRIP / 2.0, (from + to) / 2.0 + CAPTION / 2.0);
            items.push(Words::new(at, letter, CAPTION).anchor(Anchor::Middle).into());
        });
    }
    items
}

/// Calls back for each grid field between `from` and `to`, counted from the symmetry axis, with
/// its number, its ends, and the edge to be ticked at its start.
fn fields(axis: f64, from: f64, to: f64, mut field: impl FnMut(usize, f64, f64, Option<f64>)) {
    let before = ((axis - from) / FIELD).ceil() as i64;
    let after = ((to - axis) / FIELD).ceil() as i64;
    for (i, k) in (-before..after).enumerate() {
        let start = (axis + k as f64 * FIELD).max(from);
        let end = (axis + (k + 1) as f64 * FIELD).min(to);
        // A sliver too narrow for its letter joins its neighbour unmarked.
        if end - start < STRIP {
            continue;
        }
        field(i, start, end, (start > from).then_some(start));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 5457:1999 borders, from memory: A3 landscape leaves 390 × 277 from (20, 10), A4
    /// portrait 180 × 277.
    #[test]
    fn drawing_spaces() {
        let a3 = drawing_space(Paper::A3);
        assert_eq!((a3.x, a3.y, a3.w, a3.h), (20.0, 10.0, 390.0, 277.0));
        let a4 = drawing_space(Paper::A4_PORTRAIT);
        assert_eq!((a4.x, a4.y, a4.w, a4.h), (20.0, 10.0, 180.0, 277.0));
    }

    /// ISO 7200: owner, number, date, approver and creator are mandatory; a missing one is named.
    #[test]
    fn a_missing_approver_is_named() {
        let filled = TitleData {
            owner: "Saltby Heating".to_owned(),
            number: "HC-07".to_owned(),
            drawn: "J. Marlow".to_owned(),
            revisions: vec![["A", "2026-11-25", "first issue", "JM"].map(str::to_owned)],
            ..TitleData::default()
        };
        assert_eq!(filled.missing(), ["approved by"]);
        assert_eq!(TitleData::default().missing().len(), 5);
    }

    #[test]
    fn the_block_stays_in_the_space() {
        let mut title = TitleData::default();
        for _ in 0..9 {
            title.revisions.push(["A", "2026-11-25", "moved", "KB"].map(str::to_owned));
            for paper in [Paper::A4_PORTRAIT, Paper::A4_LANDSCAPE, Paper::A3, Paper::A2] {
                let (space, block) = (drawing_space(paper), title_block(paper, &title));
                assert!(block.x >= space.x && block.y > space.y + 60.0);
                assert_eq!((block.right(), block.bottom()), (space.right(), space.bottom()));
            }
        }
    }
}
