//! What the rules say. In: verdicts, one a place. Out: findings and passes, repeated ones grouped,
//! the gravest first.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::rule::Rule;
use super::{Context, Severity};
use crate::catalogue::limits::Limit;
use crate::model::{PartIx, Span};

/// What a rule has to say of some parts: a finding where it fails, a pass where it holds.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// `DIS04`.
    pub rule: &'static str,
    pub severity: Severity,
    pub title: String,
    /// Tags, and ids of pipes.
    pub parts: Vec<String>,
    /// The same as a reader finds them on the sheets: a pipe by its size, service and ends.
    pub places: Vec<String>,
    pub found: Option<f64>,
    pub limit: Option<f64>,
    pub unit: String,
    /// Room left where it passes, what is missing (negative) where it fails, in `unit`.
    pub margin: Option<f64>,
    /// "Approved Document G 2015 with 2016 amendments, Table 3.1 (England)".
    pub source: String,
    pub mend: String,
    /// It rests on an assumed value; severity has dropped to advice.
    pub assumed: bool,
    #[serde(skip)]
    pub span: Span,
    /// What several of these are called together, where the rule's own title says too much.
    #[serde(skip)]
    pub heading: &'static str,
    /// Has figures of its own that must not vanish in a list.
    #[serde(skip)]
    pub alone: bool,
}

#[derive(Clone, Debug, Default)]
pub struct Report {
    pub findings: Vec<Finding>,
    pub passes: Vec<Finding>,
    /// What was said of the text and of what it describes, in the order of the text: no rule
    /// knows of it, and it must reach the sheets all the same.
    pub remarks: Vec<Remark>,
}

/// Something said of the description.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Remark {
    pub code: &'static str,
    pub severity: Severity,
    /// Line of the description, from 1.
    pub line: usize,
    /// What stands there.
    pub typed: String,
    pub message: String,
    /// What to do about it.
    pub help: String,
}

impl Remark {
    /// Something that was left out: neither drawn nor judged. What bears a name that is taken is
    /// drawn under another.
    pub fn is_unread(&self) -> bool {
        self.severity == Severity::Error && self.code != "duplicate-name"
    }

    /// Read as meant is read: on the terminal it helps to learn, on a sheet it would be noise.
    pub fn is_as_meant(&self) -> bool {
        ["bare-number", "loose-figure", "two-words", "no-braces"].contains(&self.code)
            && self.severity != Severity::Error
    }

    /// What lies outside the rules.
    pub fn is_out_of_scope(&self) -> bool {
        self.code == "out-of-scope"
    }
}

/// One verdict in the making.
#[derive(Clone, Debug, Default)]
pub struct Say {
    title: String,
    parts: Vec<String>,
    found: Option<f64>,
    limit: Option<f64>,
    unit: String,
    margin: Option<f64>,
    source: Option<String>,
    mend: Option<String>,
    severity: Option<Severity>,
    assumed: bool,
    span: Span,
    heading: &'static str,
    alone: bool,
}

/// Starts a verdict with its one sentence. The sentence holds figures but no tags, so that equal
/// sentences can be grouped.
pub fn say(title: impl Into<String>) -> Say {
    Say { title: title.into(), ..Say::default() }
}

impl Say {
    /// The part it is about; the first one named is the culprit.
    pub fn on(mut self, cx: &Context, part: PartIx) -> Say {
        let part = cx.system.part(part);
        if !self.parts.contains(&part.tag) {
            self.parts.push(part.tag.clone());
        }
        if self.span.is_empty() {
            self.span = part.span.clone();
        }
        self
    }

    pub fn on_all(self, cx: &Context, parts: impl IntoIterator<Item = PartIx>) -> Say {
        parts.into_iter().fold(self, |s, p| s.on(cx, p))
    }

    /// A tag or pipe id that is not a part's.
    pub fn on_tag(mut self, tag: &str) -> Say {
        if !self.parts.iter().any(|t| t == tag) {
            self.parts.push(tag.to_owned());
        }
        self
    }

    pub fn found(mut self, value: f64, unit: &str) -> Say {
        self.found = Some(value);
        self.unit = unit.to_owned();
        self
    }

    /// The limit with its source. The unit follows `found` where that was given.
    pub fn limit(mut self, limit: &Limit) -> Say {
        self.limit = Some(limit.value);
        self.source = Some(limit.source.clone());
        if self.unit.is_empty() {
            self.unit = limit.unit.to_owned();
        }
        self
    }

    /// A limit that another value of the job sets.
    pub fn against(mut self, value: f64) -> Say {
        self.limit = Some(value);
        self
    }

    pub fn margin(mut self, value: f64) -> Say {
        self.margin = Some(value);
        self
    }

    pub fn source(mut self, source: impl Into<String>) -> Say {
        self.source = Some(source.into());
        self
    }

    pub fn mend(mut self, mend: impl Into<String>) -> Say {
        self.mend = Some(mend.into());
        self
    }

    pub fn severity(mut self, severity: Severity) -> Say {
        self.severity = Some(severity);
        self
    }

    /// True where anything it rests on is only assumed.
    pub fn assumed(mut self, assumed: bool) -> Say {
        self.assumed |= assumed;
        self
    }

    /// What several such verdicts of a rule are called together.
    pub fn heading(mut self, heading: &'static str) -> Say {
        self.heading = heading;
        self
    }

    /// Never to be joined with others of its rule.
    pub fn alone(mut self) -> Say {
        self.alone = true;
        self
    }

    /// The characters of the description to point at.
    pub fn at(mut self, span: &Span) -> Say {
        if !span.is_empty() {
            self.span = span.clone();
        }
        self
    }
}

/// What one rule hands its verdicts to.
pub struct Verdicts<'r> {
    rule: &'static Rule,
    report: &'r mut Report,
}

impl<'r> Verdicts<'r> {
    pub(super) fn new(rule: &'static Rule, report: &'r mut Report) -> Verdicts<'r> {
        Verdicts { rule, report }
    }

    pub fn fail(&mut self, say: Say) {
        let mut finding = self.finding(say);
        if finding.assumed {
            finding.severity = Severity::Advice;
            finding.title.push_str(" (rests on an assumed value)");
        }
        finding.margin = finding.margin.map(tidy);
        self.report.findings.push(finding);
    }

    /// A failure, on an assumed value or not, or a pass.
    pub fn judge(&mut self, fails: bool, say: Say, assumed: bool) {
        if fails {
            self.fail(say.assumed(assumed));
        } else {
            self.pass(say.assumed(assumed));
        }
    }

    pub fn pass(&mut self, say: Say) {
        let mut pass = self.finding(say);
        pass.mend = String::new();
        pass.margin = pass.margin.map(tidy);
        self.report.passes.push(pass);
    }

    fn finding(&self, say: Say) -> Finding {
        Finding {
            rule: self.rule.id,
            severity: say.severity.unwrap_or(self.rule.severity),
            title: say.title,
            places: say.parts.clone(),
            parts: say.parts,
            found: say.found.map(tidy),
            limit: say.limit.map(tidy),
            unit: say.unit,
            margin: say.margin,
            source: in_the_open(&say.source.unwrap_or_else(|| self.rule.source.to_owned())),
            mend: say.mend.unwrap_or_else(|| self.rule.mend.to_owned()),
            assumed: say.assumed,
            span: say.span,
            heading: say.heading,
            alone: say.alone,
        }
    }
}

#[cfg(test)]
impl Finding {
    /// An error of a rule that says nothing yet, for tests.
    pub fn blank(rule: &'static str) -> Finding {
        Finding {
            rule,
            severity: Severity::Error,
            title: String::new(),
            parts: Vec::new(),
            places: Vec::new(),
            found: None,
            limit: None,
            unit: String::new(),
            margin: None,
            source: String::new(),
            mend: String::new(),
            assumed: false,
            span: Span::default(),
            heading: "",
            alone: false,
        }
    }
}

/// A source as it stands on a sheet: whoever signs there is told plainly what nobody looked up.
pub fn in_the_open(source: &str) -> String {
    match source {
        "from memory" => "trade figure, no source checked".to_owned(),
        text => text
            .replace(" (from memory)", " (not checked against its text)")
            .replace(", from memory", " (not checked against its text)")
            .replace("from memory", "not checked against its text"),
    }
}

/// Sums of tenths leave crumbs; a report is read to the thousandth.
fn tidy(value: f64) -> f64 {
    let rounded = (value * 1000.0).round() / 1000.0;
    if rounded == 0.0 { 0.0 } else { rounded }
}

/// How many findings of one rule become one line.
const MANY: usize = 3;

impl Report {
    /// Groups what is repeated and sorts: errors, warnings, advice; within these by rule.
    pub(super) fn arrange(&mut self, titles: &dyn Fn(&str) -> &'static str) {
        self.findings = group(std::mem::take(&mut self.findings), titles);
        self.findings.sort_by(|a, b| {
            (a.severity, a.rule, &a.parts, &a.title).cmp(&(b.severity, b.rule, &b.parts, &b.title))
        });
        self.passes = join_equal(std::mem::take(&mut self.passes));
        self.passes.sort_by(|a, b| (a.rule, &a.parts, &a.title).cmp(&(b.rule, &b.parts, &b.title)));
    }

    /// Says of every pipe what it is: `called` knows the words for an id.
    pub(super) fn name_pipes(&mut self, called: &dyn Fn(&str) -> Option<String>) {
        for f in self.findings.iter_mut().chain(&mut self.passes) {
            let mut seen = BTreeSet::new();
            f.places = f.parts.iter().map(|t| called(t).unwrap_or_else(|| t.clone())).collect();
            f.places.retain(|place| seen.insert(place.clone()));
            f.title = in_words(&f.title, called);
            f.mend = in_words(&f.mend, called);
        }
    }

    /// Everything found of a severity, in the design and in its description.
    pub fn count(&self, severity: Severity) -> usize {
        self.findings.iter().filter(|f| f.severity == severity).count()
            + self.remarks.iter().filter(|r| r.severity == severity && !r.is_as_meant()).count()
    }

    /// Lines of the description of which something was not read.
    pub fn unread_lines(&self) -> usize {
        let lines = self.remarks.iter().filter(|r| r.is_unread()).map(|r| r.line);
        lines.collect::<BTreeSet<_>>().len()
    }

    pub fn is_out_of_scope(&self) -> bool {
        self.remarks.iter().any(Remark::is_out_of_scope)
    }

    pub fn has_error(&self) -> bool {
        self.errors() > 0
    }

    /// How many findings are warnings.
    pub fn warnings(&self) -> usize {
        self.findings.iter().filter(|f| f.severity == Severity::Warning).count()
    }

    /// How many findings are errors.
    pub fn errors(&self) -> usize {
        self.findings.iter().filter(|f| f.severity == Severity::Error).count()
    }
}

/// A sentence with the ids in it put into words.
fn in_words(text: &str, called: &dyn Fn(&str) -> Option<String>) -> String {
    let plain = |word: &str| word.trim_end_matches([',', ':', ';', '.']).len();
    let words = text.split(' ').map(|word| {
        let (id, rest) = word.split_at(plain(word));
        called(id).map_or_else(|| word.to_owned(), |named| format!("{named}{rest}"))
    });
    words.collect::<Vec<_>>().join(" ")
}

/// Joins what says the same of several parts.
fn join_equal(all: Vec<Finding>) -> Vec<Finding> {
    let mut seen = BTreeMap::new();
    let mut joined: Vec<(Finding, BTreeSet<String>)> = Vec::new();
    for f in all {
        let key = (f.rule, f.severity, f.title.clone(), f.mend.clone());
        match seen.get(&key) {
            Some(&at) => {
                let (into, tags): &mut (Finding, BTreeSet<String>) = &mut joined[at];
                into.assumed |= f.assumed;
                into.parts.extend(f.parts.into_iter().filter(|tag| tags.insert(tag.clone())));
            }
            None => {
                seen.insert(key, joined.len());
                let tags = f.parts.iter().cloned().collect();
                joined.push((f, tags));
            }
        }
    }
    joined.into_iter().map(|(f, _)| f).collect()
}

/// A sentence without its figures and tags, by which like findings are told.
fn likeness(title: &str) -> String {
    let plain = |w: &&str| !w.chars().any(|c| c.is_ascii_digit());
    title.split_whitespace().filter(plain).collect::<Vec<_>>().join(" ")
}

/// Whether a tag is the id that completion gives a pipe.
fn is_pipe(tag: &str) -> bool {
    tag.strip_prefix('p').is_some_and(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()))
}

/// "discharge pipe too small: 8 places: TUN1, TUN2, …; worst: …".
fn group(all: Vec<Finding>, titles: &dyn Fn(&str) -> &'static str) -> Vec<Finding> {
    type Key = (&'static str, Severity, bool, String);
    let mut groups: BTreeMap<Key, Vec<Finding>> = BTreeMap::new();
    let mut out = Vec::new();
    for f in all {
        let key = (f.rule, f.severity, f.assumed, likeness(&f.title));
        match f.alone {
            true => out.push(f),
            false => groups.entry(key).or_default().push(f),
        }
    }
    for ((rule, ..), mut members) in groups {
        if members.len() < MANY {
            out.extend(join_equal(members));
            continue;
        }
        let margin = |f: &Finding| f.margin.unwrap_or(0.0);
        let worst = (0..members.len())
            .min_by(|a, b| margin(&members[*a]).total_cmp(&margin(&members[*b])))
            .unwrap_or(0);
        let places = members.len();
        let mut seen = BTreeSet::new();
        let firsts = members.iter().filter_map(|f| f.parts.first());
        let parts: Vec<String> = firsts.filter(|tag| seen.insert(*tag)).cloned().collect();
        let same = members.iter().all(|f| f.title == members[worst].title);
        let mut first = members.swap_remove(worst);
        // Pipes have no tags: their names stand beside, and are too long for a heading.
        let list = match parts.iter().any(|p| is_pipe(p)) {
            true => String::new(),
            false => format!(": {}", parts.join(", ")),
        };
        let heading = if first.heading.is_empty() { titles(rule) } else { first.heading };
        first.title = if same {
            format!("{}: {places} places{list}", first.title)
        } else {
            format!("{heading}: {places} places{list}; worst: {}", first.title)
        };
        first.parts = parts;
        out.push(first);
    }
    out
}
