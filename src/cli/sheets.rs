//! `draw`: sheets as files, whole or not at all.

use std::fmt::Write;

use serde::Serialize;

use super::args::{Draw, FileFormat};
use super::files::Batch;
use super::{UNREADABLE, Worked, say};
use crate::describe::nearest;
use crate::diagnostic::Located;
use crate::draw::quality::{Quality, measure};
use crate::draw::scene::Sheet;
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
    diagnostics: Vec<Located>,
}

pub fn draw(a: &Draw) -> u8 {
    let Some(w) = Worked::of(&a.input) else { return UNREADABLE };
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
    let drawn = match write(a, &sheets, title, &digest) {
        Ok(drawn) => drawn,
        Err(e) => {
            say::remark(&format!("error: {e}; nothing was written"));
            return UNREADABLE;
        }
    };
    if a.input.json {
        say::json(&Document { diagnostics: w.source.records(), ..drawn });
        return w.source.code();
    }
    let mut text = String::new();
    let report = &w.project.report;
    if !report.findings.is_empty() {
        let n = report.findings.len();
        let what = if n == 1 { "finding" } else { "findings" };
        let _ = writeln!(text, "{n} {what}: `firstfix check {}` tells them", w.source.name);
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
    say::out(&text);
    w.source.code()
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
    for sheet in sheets {
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
    Ok(Document { sheets: lines, files, diagnostics: Vec::new() })
}
