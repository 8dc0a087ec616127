//! `draw`: sheets as files, whole or not at all.

use std::fmt::Write;

use serde::Serialize;

use super::args::{Draw, FileFormat};
use super::files::Batch;
use super::{Source, UNREADABLE, Worked, say};
use crate::describe::nearest;
use crate::diagnostic::Located;
use crate::draw::quality::{Quality, measure};
use crate::draw::scene::Sheet;
use crate::layout::cupboard::plan::CupboardPlan;
use crate::layout::schematic::{NEAR, moved};
use crate::pipeline::{self, Issued, Project};
use crate::render::{self, Typeface};

/// The PDF that holds every sheet drawn.
const ALL: &str = "all-sheets.pdf";

#[derive(Serialize)]
struct Line {
    key: String,
    title: String,
    paper: &'static str,
    scale: Option<u32>,
    files: Vec<String>,
    quality: Quality,
}

#[derive(Serialize)]
struct Document {
    sheets: Vec<Line>,
    /// Files that hold several sheets.
    files: Vec<String>,
    /// Beside the earlier issue, where one was named.
    #[serde(skip_serializing_if = "Option::is_none")]
    stayed: Option<Stayed>,
    diagnostics: Vec<Located>,
}

/// What an edit left standing on the schematic, and in the cupboard.
#[derive(Serialize)]
struct Stayed {
    /// Parts on both issues.
    parts: usize,
    /// Tags of those that stand elsewhere now.
    moved: Vec<String>,
    /// The farthest of them, mm.
    farthest: f64,
    /// The same in the cupboard, in real mm; without one, nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    cupboard: Option<Settled>,
}

/// What an edit left standing in the cupboard.
#[derive(Serialize)]
struct Settled {
    parts: usize,
    moved: Vec<String>,
    /// Stretches of pipe on both issues, and those that run otherwise now.
    pipes: usize,
    relaid: usize,
}

impl Settled {
    fn of(earlier: &CupboardPlan, now: &CupboardPlan) -> Settled {
        let mut all = Settled { parts: 0, moved: Vec::new(), pipes: 0, relaid: 0 };
        for s in &now.solids {
            let Some(old) = earlier.solids.iter().find(|o| o.tag == s.tag) else { continue };
            all.parts += 1;
            if old.at != s.at {
                all.moved.push(s.tag.clone());
            }
        }
        for line in &now.lines {
            let Some(old) = earlier.line(&line.joins) else { continue };
            all.pipes += 1;
            all.relaid += usize::from(old.points != line.laid.points);
        }
        all
    }

    fn told(&self) -> String {
        let Settled { parts, moved, pipes, relaid } = self;
        let parts = match moved.len() {
            0 => format!("{parts} parts of the cupboard stand where they stood"),
            n => format!("{n} of {parts} parts of the cupboard moved: {}", moved.join(", ")),
        };
        format!("{parts}; {relaid} of {pipes} lines run otherwise")
    }
}

impl Stayed {
    fn of(earlier: &Issued, now: &Project) -> Stayed {
        let cupboard = earlier.cupboard.as_ref().zip(now.cupboard.as_ref());
        let cupboard = cupboard.map(|(earlier, now)| Settled::of(earlier, now));
        let mut all = Stayed { parts: 0, moved: Vec::new(), farthest: 0.0, cupboard };
        for page in &now.schematic.pages {
            let Some(old) = earlier.schematic.pages.iter().find(|p| p.key == page.key) else {
                continue;
            };
            for (part, mm) in moved(old, page) {
                all.parts += 1;
                all.farthest = all.farthest.max(mm);
                if mm > NEAR {
                    all.moved.push(page.system.part(part).tag.clone());
                }
            }
        }
        all
    }

    fn told(&self) -> String {
        let Stayed { parts, moved, .. } = self;
        match moved.len() {
            0 => format!("{parts} parts of the schematic stand where they stood"),
            n => format!("{n} of {parts} parts of the schematic moved: {}", moved.join(", ")),
        }
    }
}

pub fn draw(a: &Draw) -> u8 {
    let Ok(earlier) = earlier(a) else { return UNREADABLE };
    let Some(w) = Worked::after(&a.input, earlier.as_ref()) else { return UNREADABLE };
    let stayed = earlier.map(|earlier| Stayed::of(&earlier, &w.project));
    let sheets = match chosen(w.project.sheets(), &a.sheets) {
        Ok(sheets) => sheets,
        Err(e) => {
            say::remark(&format!("error: {e}"));
            return UNREADABLE;
        }
    };
    if !a.input.json {
        w.source.say();
    }
    let title = &w.project.system().job.name;
    let title = if title.is_empty() { "Untitled job" } else { title };
    let digest = w.project.system().digest();
    let written = write(a, &sheets, title, &digest);
    say::no_more_stages();
    let drawn = match written {
        Ok(drawn) => drawn,
        Err(e) => {
            say::remark(&format!("error: {e}; nothing was written"));
            return UNREADABLE;
        }
    };
    if a.input.json {
        say::json(&Document { diagnostics: w.source.records(), stayed, ..drawn });
        return w.source.code();
    }
    let mut text = String::new();
    let report = &w.project.report;
    if !report.findings.is_empty() {
        let n = report.findings.len();
        let what = if n == 1 { "finding" } else { "findings" };
        let _ = writeln!(text, "{n} {what}: `firstfix check {}` tells them", w.source.name);
    }
    if let Some(stayed) = &stayed {
        let _ = writeln!(text, "{}", stayed.told());
        if let Some(cupboard) = &stayed.cupboard {
            let _ = writeln!(text, "{}", cupboard.told());
        }
    }
    for f in &drawn.files {
        let _ = writeln!(text, "{f}: all {} sheets", drawn.sheets.len());
    }
    for line in &drawn.sheets {
        let scale = line.scale.map_or("not to scale".to_owned(), |s| format!("1:{s}"));
        let files = if line.files.is_empty() {
            String::new()
        } else {
            format!(": {}", line.files.join(", "))
        };
        let _ = writeln!(text, "{} ({scale} @ {}){files}", line.title, line.paper);
    }
    match report.unread_lines() {
        0 => {}
        1 => text.push_str("1 line of the description was not wholly read: see above\n"),
        n => {
            let _ = writeln!(text, "{n} lines of the description were not wholly read: see above");
        }
    }
    say::out(&text);
    w.source.code()
}

/// The layouts of the earlier issues, each laid out after the one before it. One that can't be
/// read is said here.
fn earlier(a: &Draw) -> Result<Option<Issued>, ()> {
    let mut plan = None;
    for path in &a.after {
        let Some(mut source) = Source::of(path) else { return Err(()) };
        let issued = match source.readable {
            true => pipeline::issued(&source.text, plan.as_ref()),
            false => Err(Vec::new()),
        };
        match issued {
            Ok(issued) => plan = Some(issued),
            Err(faults) => {
                source.diagnostics.extend(faults);
                source.refuse(a.input.json);
                return Err(());
            }
        }
    }
    Ok(plan)
}

/// The sheets asked for: by key, or by the beginning of their keys.
fn chosen(all: Vec<Sheet>, wanted: &[String]) -> Result<Vec<Sheet>, String> {
    let wanted: Vec<String> = wanted
        .iter()
        .map(|w| w.trim().to_lowercase().replace(' ', "-"))
        .filter(|w| !w.is_empty())
        .collect();
    if wanted.is_empty() {
        return Ok(all);
    }
    let means = |key: &str, w: &str| {
        key == w || key.strip_prefix(w).is_some_and(|rest| rest.starts_with('-'))
    };
    for w in &wanted {
        if !all.iter().any(|s| means(&s.key, w)) {
            let keys: Vec<&str> = all.iter().map(|s| s.key.as_str()).collect();
            let meant = nearest(w, keys.iter().copied()).map_or_else(
                || format!("there are {}", keys.join(", ")),
                |n| format!("did you mean {n}?"),
            );
            return Err(format!("there is no sheet {w}; {meant}"));
        }
    }
    Ok(all.into_iter().filter(|s| wanted.iter().any(|w| means(&s.key, w))).collect())
}

fn write(a: &Draw, sheets: &[Sheet], title: &str, digest: &str) -> Result<Document, String> {
    let has = |f: FileFormat| a.formats.contains(&f);
    let mut batch = Batch::new(&a.out)?;
    let mut lines = Vec::new();
    for (i, sheet) in sheets.iter().enumerate() {
        say::transient(&format!("drawing sheet {} of {} …", i + 1, sheets.len()));
        let mut files = Vec::new();
        let mut add = |ending: &str, bytes: &[u8]| -> Result<(), String> {
            let path = batch.add(&format!("{}.{ending}", sheet.key), bytes)?;
            files.push(path.display().to_string());
            Ok(())
        };
        if has(FileFormat::Svg) {
            add("svg", render::svg(sheet, Typeface::Embedded).as_bytes())?;
        }
        if has(FileFormat::Png) {
            add("png", &render::png(sheet, f64::from(a.dpi)).map_err(|e| e.to_string())?)?;
        }
        lines.push(Line {
            key: sheet.key.clone(),
            title: sheet.title.clone(),
            paper: sheet.paper.name,
            scale: sheet.scale,
            files,
            quality: measure(sheet),
        });
    }
    let mut files = Vec::new();
    if has(FileFormat::Pdf) && !sheets.is_empty() {
        let bytes = render::pdf(sheets, title, digest).map_err(|e| e.to_string())?;
        files.push(batch.add(ALL, &bytes)?.display().to_string());
    }
    batch.commit()?;
    Ok(Document { sheets: lines, files, stayed: None, diagnostics: Vec::new() })
}
