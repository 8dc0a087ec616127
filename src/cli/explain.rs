//! `explain`: what a rule says, or the list of all rules.

use serde::Serialize;

use super::{DONE, UNREADABLE, say};
use crate::check;
use crate::describe::nearest;
use crate::diagnostic::Severity;

#[derive(Serialize)]
struct Line {
    id: &'static str,
    severity: Severity,
    title: &'static str,
}

pub fn explain(rule: Option<&str>, json: bool) -> u8 {
    let Some(rule) = rule else { return list(json) };
    let id = full_id(rule);
    match check::explain(&id) {
        Some(explanation) if json => say::json(&explanation),
        Some(explanation) => say::out(&explanation.to_string()),
        None => {
            let all = check::catalogue();
            let meant = nearest(&id, all.iter().map(|r| r.0)).map_or_else(
                || "`firstfix explain` lists them all".to_owned(),
                |n| format!("did you mean {n}?"),
            );
            say::remark(&format!("error: there is no rule {id}; {meant}"));
            return UNREADABLE;
        }
    }
    DONE
}

/// `dis4` is DIS04.
fn full_id(typed: &str) -> String {
    let id = typed.trim().to_uppercase();
    let letters = id.trim_end_matches(|c: char| c.is_ascii_digit());
    match id[letters.len()..].parse::<u32>() {
        Ok(n) if n < 100 => format!("{letters}{n:02}"),
        _ => id,
    }
}

fn list(json: bool) -> u8 {
    let lines: Vec<Line> = check::catalogue()
        .into_iter()
        .map(|(id, severity, title)| Line { id, severity, title })
        .collect();
    if json {
        say::json(&lines);
        return DONE;
    }
    let mut text = String::new();
    for l in &lines {
        text.push_str(&format!("{:<6} {:<8} {}\n", l.id, say::severity(l.severity), l.title));
    }
    say::out(&text);
    DONE
}
