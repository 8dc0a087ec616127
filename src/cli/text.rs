//! Commands that turn text into text: `new`, `format`.

use std::path::Path;

use serde::Serialize;

use super::{DONE, ERRORS, Source, UNREADABLE, args, files, say};
use crate::describe;

/// What `new` prints.
pub const STARTER: &str = include_str!("starter.kdl");

#[derive(Serialize)]
struct Text<'a> {
    text: &'a str,
}

pub fn new(json: bool) -> u8 {
    if json {
        say::json(&Text { text: STARTER })
    } else {
        say::out(STARTER)
    }
    DONE
}

#[derive(Serialize)]
struct Tidied<'a> {
    file: &'a str,
    changed: bool,
    text: &'a str,
}

pub fn format(a: &args::Format) -> u8 {
    let Some(mut source) = Source::of(&a.input.file) else { return UNREADABLE };
    let tidied = if source.readable { describe::format(&source.text) } else { Err(Vec::new()) };
    let tidied = match tidied {
        Ok(tidied) => tidied,
        Err(faults) => {
            source.diagnostics.extend(faults);
            source.refuse(a.input.json);
            return UNREADABLE;
        }
    };
    let changed = tidied != source.text;
    if a.input.json {
        say::json(&Tidied { file: &source.name, changed, text: &tidied });
    }
    if a.check {
        if changed && !a.input.json {
            say::remark(&format!("{} is not tidy", source.name));
        }
        return if changed { ERRORS } else { DONE };
    }
    if a.write && a.input.file != Path::new("-") {
        if changed && let Err(e) = files::replace(&a.input.file, &tidied) {
            say::remark(&format!("error: {e}"));
            return UNREADABLE;
        }
    } else if !a.input.json {
        say::out(&tidied);
    }
    DONE
}
