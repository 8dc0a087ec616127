//! DRW: what a sheet must carry. Judged once the sheets have been drawn.

use crate::check::drawing::{DrawingFacts, SheetFacts};
use crate::check::report::{Say, Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};

pub const RULES: &[&[Rule]] = &[&[
    Rule {
        id: "DRW01",
        severity: Severity::Error,
        title: "pipe without size, service or arrow",
        what: "A pipe on a sheet that lacks its size, its service letters or its flow arrow.",
        why: "The reader has to guess what it is.",
        source: "common practice; BS EN ISO 10628-1, from memory",
        mend: "label the pipe",
        run: unlabelled,
    },
    Rule {
        id: "DRW02",
        severity: Severity::Error,
        title: "title block not filled in",
        what: "A sheet without title, number, revision, status, datum or viewpoint.",
        why: "It can't be filed, and nobody knows which of two prints is the later.",
        source: "ISO 7200",
        mend: "complete the job's facts",
        run: title_block,
    },
    Rule {
        id: "DRW03",
        severity: Severity::Warning,
        title: "text too small to read",
        what: "Text under 2.5 mm on the stated paper.",
        why: "It does not survive a photocopy.",
        source: "BS EN ISO 3098-1; common practice",
        mend: "split the sheet or take larger paper",
        run: small_text,
    },
    Rule {
        id: "DRW04",
        severity: Severity::Warning,
        title: "meaning carried by colour alone",
        what: "Something that only a colour tells.",
        why: "Most prints on site are black and white.",
        source: "common practice",
        mend: "add a line style and letters",
        run: colour_only,
    },
    Rule {
        id: "DRW05",
        severity: Severity::Warning,
        title: "label over a line, or crossing without a gap",
        what: "A label that lies over a line, a symbol or another label; pipes that cross \
               undrawn as crossing.",
        why: "A crossing is read as a joint.",
        source: "common practice; BS EN ISO 10628-1, from memory",
        mend: "place the label anew, leave the gap",
        run: overlaps,
    },
    Rule {
        id: "DRW06",
        severity: Severity::Error,
        title: "scale that does not hold",
        what: "A scaled sheet without a scale bar, or with a length that does not agree with it.",
        why: "Somebody drills by it.",
        source: "ISO 5455",
        mend: "draw the sheet anew at its scale",
        run: scale,
    },
    Rule {
        id: "DRW07",
        severity: Severity::Error,
        title: "part missing from a sheet that should show it",
        what: "A part that stands on one sheet and not on another that should show it.",
        why: "Two sheets that disagree are both mistrusted.",
        source: "common practice",
        mend: "draw both sheets anew",
        run: missing,
    },
    Rule {
        id: "DRW08",
        severity: Severity::Warning,
        title: "assumed value not listed",
        what: "A value that was assumed and stands in no list of assumptions.",
        why: "It looks as certain as a measured one.",
        source: "common practice",
        mend: "list it with a box to tick",
        run: unlisted,
    },
    Rule {
        id: "DRW09",
        severity: Severity::Error,
        title: "change not marked",
        what: "An as-built change that is not marked on its sheet, or a revision letter that was \
               not raised.",
        why: "The drawing in the cupboard is then the wrong one.",
        source: "common practice",
        mend: "mark the change and raise the letter",
        run: unmarked,
    },
]];

fn drawing<'c>(cx: &'c Context) -> Option<&'c DrawingFacts> {
    cx.drawing
}

/// Judges each sheet: `bad` gives the sentence where it fails.
fn sheets(cx: &Context, out: &mut Verdicts, bad: impl Fn(&SheetFacts) -> Option<Say>, holds: &str) {
    let Some(drawing) = drawing(cx) else { return };
    let mut sound = true;
    for sheet in &drawing.sheets {
        if let Some(say) = bad(sheet) {
            sound = false;
            out.fail(say.on_tag(&sheet.name));
        }
    }
    if sound && !drawing.sheets.is_empty() {
        out.pass(say(holds));
    }
}

fn unlabelled(cx: &Context, out: &mut Verdicts) {
    sheets(
        cx,
        out,
        |s| {
            let n = s.unlabelled.len();
            let pipes = if n == 1 { "pipe" } else { "pipes" };
            let title = format!("{n} {pipes} without size, service letters or arrow");
            let start = say(title).found(n as f64, "pipes").against(0.0).margin(-(n as f64));
            (n > 0).then(|| s.unlabelled.iter().fold(start, |x, id| x.on_tag(id)))
        },
        "every pipe carries size, service and arrow",
    );
}

fn title_block(cx: &Context, out: &mut Verdicts) {
    let blank: &[String] =
        drawing(cx).and_then(|d| d.sheets.first()).map_or(&[], |s| &s.blank_fields);
    let holds = match blank {
        [] => "every title block is filled in".to_owned(),
        _ => format!(
            "every title block has title, status, scale, units and datum; blank, to be filled in \
             by hand before it is filed as built: {}",
            blank.join(", ")
        ),
    };
    sheets(
        cx,
        out,
        |s| {
            (!s.missing_fields.is_empty())
                .then(|| say(format!("title block lacks {}", s.missing_fields.join(", "))))
        },
        &holds,
    );
}

fn small_text(cx: &Context, out: &mut Verdicts) {
    let least = cx.limit("DRW03.text");
    sheets(
        cx,
        out,
        |s| {
            (s.least_text > 0.0 && s.least_text + 1e-6 < least.value).then(|| {
                say(format!("text of {:.2} mm, at least {} mm", s.least_text, least.value))
                    .found(s.least_text, "mm")
                    .limit(&least)
                    .margin(s.least_text - least.value)
            })
        },
        "all text is large enough",
    );
}

fn colour_only(cx: &Context, out: &mut Verdicts) {
    sheets(
        cx,
        out,
        |s| {
            (!s.colour_only.is_empty())
                .then(|| say(format!("told by colour alone: {}", s.colour_only.join(", "))))
        },
        "nothing is told by colour alone",
    );
}

fn overlaps(cx: &Context, out: &mut Verdicts) {
    sheets(
        cx,
        out,
        |s| {
            let n = s.overlaps + s.gapless_crossings;
            (n > 0).then(|| {
                say(format!(
                    "{} labels over something, {} crossings without a gap",
                    s.overlaps, s.gapless_crossings
                ))
                .found(n as f64, "")
                .against(0.0)
                .margin(-(n as f64))
            })
        },
        "labels stand free, crossings have their gap",
    );
}

fn scale(cx: &Context, out: &mut Verdicts) {
    let most = cx.limit("DRW06.scale");
    sheets(
        cx,
        out,
        |s| {
            if !s.scaled {
                None
            } else if !s.scale_bar {
                Some(say("no scale bar"))
            } else if s.scale_error > most.value + 1e-9 {
                let title = format!("a length is {:.2} mm off on paper", s.scale_error);
                Some(
                    say(title)
                        .found(s.scale_error, "mm")
                        .limit(&most)
                        .margin(most.value - s.scale_error),
                )
            } else {
                None
            }
        },
        "scaled sheets hold their scale",
    );
}

fn missing(cx: &Context, out: &mut Verdicts) {
    let Some(drawing) = drawing(cx) else { return };
    for (tag, sheet) in &drawing.missing_parts {
        out.fail(say(format!("missing from the {sheet}")).on_tag(tag));
    }
    if drawing.missing_parts.is_empty() && !drawing.sheets.is_empty() {
        out.pass(say("the sheets show the same parts"));
    }
}

fn unlisted(cx: &Context, out: &mut Verdicts) {
    let Some(drawing) = drawing(cx) else { return };
    if drawing.unlisted_assumptions.is_empty() {
        out.pass(say("every assumed value is listed"));
        return;
    }
    let start = say("assumed values that no sheet lists");
    out.fail(drawing.unlisted_assumptions.iter().fold(start, |s, id| s.on_tag(id)));
}

fn unmarked(cx: &Context, out: &mut Verdicts) {
    let Some(drawing) = drawing(cx) else { return };
    if !drawing.unmarked_changes.is_empty() {
        let start = say("changes that are not marked");
        out.fail(drawing.unmarked_changes.iter().fold(start, |s, t| s.on_tag(t)));
    }
    if drawing.revision_not_raised {
        out.fail(say("something changed and the revision letter did not"));
    }
}
