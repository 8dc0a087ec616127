//! SRT, SOL, CTL, DRW, DOC and the report itself.

use firstfix::check::Severity::{Advice, Error, Warning};
use firstfix::check::{DrawingFacts, SheetFacts, catalogue, explain};
use firstfix::model::{Service, Value};

use super::build::{Build, fires, silent, sound};
use super::safety::solar_store;
use super::systems::indirect;
use super::water::looped;

#[test]
fn srt01_pump_body() {
    let mut b = looped();
    b.word("SP", "body", "cast iron");
    fires(&b.check(), "SRT01", Error, "SP");
    b.word("SP", "body", "bronze");
    silent(&b.check(), "SRT01");
}

#[test]
fn srt02_return_too_cool() {
    let mut b = looped();
    b.figure("circulation.return-temperature", "SP", 47.0, &[]);
    let r = b.check();
    assert_eq!(fires(&r, "SRT02", Warning, "SP").margin, Some(-3.0));
    b.figure("circulation.return-temperature", "SP", 55.0, &[]);
    let short = [("flow needed", 0.0149), ("flow stated for the pump", 0.010)];
    b.figure("circulation.duty", "SP", 1.0, &short);
    fires(&b.check(), "SRT02", Warning, "SP");
    let ample = [("flow needed", 0.0149), ("flow stated for the pump", 0.05)];
    b.figure("circulation.duty", "SP", 1.0, &ample);
    silent(&b.check(), "SRT02");
}

#[test]
fn srt03_timer_lagging_balance() {
    let mut b = looped();
    b.get("CTM").kind = firstfix::catalogue::Kind::known("meter");
    fires(&b.check(), "SRT03", Warning, "SP");
    let mut b = looped();
    b.pipe("SP", "NRV-R").lagging = Some(Value::stated(0.0, 0..0));
    fires(&b.check(), "SRT03", Warning, "SP");
    // A second leg.
    let mut b = looped();
    b.put_before("SP", "T-legs", "tee");
    b.put_before("SINK", "T-far", "tee");
    let hot = b.pipe("T-far", "SINK").service;
    assert_eq!(hot, Service::ColdMain, "the sink's first pipe is its cold");
    b.take_out("T-far");
    b.put_before("T-sh", "T-leg2", "tee");
    let first = b.run(Service::HotReturn, &["T-leg2.branch", "T-legs.branch"]);
    for p in &mut b.system.pipes[first..] {
        p.lagging = Some(Value::stated(20.0, 0..0));
    }
    let r = b.check();
    let f = r.findings.iter().find(|f| f.rule == "SRT03").expect("two legs unbalanced");
    assert_eq!(f.severity, Warning);
    for (at, name) in [("T-legs", "BV1"), ("T-legs", "BV2")] {
        // Each leg's last pipe before the joint.
        b.put_before(at, name, "balancing valve");
        let ix = b.ix(at);
        let part = b.ix(name);
        let pos = b.system.pipes.iter().position(|p| p.from.part == part).unwrap();
        assert_eq!(b.system.pipes[pos].to.part, ix);
        b.system.pipes.rotate_left(1);
    }
}

#[test]
fn srt04_return_into_the_cold() {
    let mut b = looped();
    let cyl = b.ix("CYL");
    let port = b.system.part(cyl).kind.port("secondary return").unwrap();
    b.system.pipes.retain(|p| !(p.to.part == cyl && p.to.port == port));
    b.put_before("T-dc", "T-in", "tee");
    b.run(Service::HotReturn, &["NRV-R", "T-in.branch"]);
    fires(&b.check(), "SRT04", Warning, "T-in");
    silent(&looped().check(), "SRT04");
}

#[test]
fn sol01_no_water_for_the_sun() {
    let mut b = solar_store();
    silent(&b.check(), "SOL01");
    b.set("CYL", "solar-litres", 0.0);
    fires(&b.check(), "SOL01", Warning, "CYL");
}

#[test]
fn sol02_vessel() {
    let mut b = solar_store();
    b.figure("solar-vessel.volume", "SEV", 30.0, &[("fitted", 25.0)]);
    let r = b.check();
    assert_eq!(fires(&r, "SOL02", Warning, "SEV").margin, Some(-5.0));
    b.figure("solar-vessel.volume", "SEV", 22.0, &[("fitted", 25.0)]);
    silent(&b.check(), "SOL02");
}

#[test]
fn sol03_container() {
    let mut b = solar_store();
    silent(&b.check(), "SOL03");
    b.pipe("PSV-S", "CON").material = Value::stated("PB".to_owned(), 0..0);
    fires(&b.check(), "SOL03", Error, "PSV-S");
    let con = b.ix("CON");
    b.system.pipes.retain(|p| p.to.part != con);
    let r = b.check();
    assert!(fires(&r, "SOL03", Error, "PSV-S").title.ends_with("into nothing"));
    b.add("YARD", "drain point");
    b.run(Service::Drain, &["PSV-S.discharge", "YARD"]);
    let r = b.check();
    let f = fires(&r, "SOL03", Error, "YARD");
    assert!(f.title.contains("into a drain point, not into a metal container"), "{}", f.title);
}

/// A cut-out at the very temperature that the sun may bring trips on the first sunny day.
#[test]
fn sol05_cut_out_at_the_sun() {
    let mut b = solar_store();
    b.set("COT-S", "setting", 85.0);
    for (most, said) in [(85.0, true), (90.0, true), (80.0, false)] {
        b.set("CYL", "max-stored", most);
        match said {
            true => {
                fires(&b.check(), "SOL05", Warning, "COT-S");
            }
            false => silent(&b.check(), "SOL05"),
        }
    }
}

#[test]
fn sol04_plastic_pipe() {
    let mut b = solar_store();
    silent(&b.check(), "SOL04");
    let p = b.pipe("SOL", "CYL");
    p.material = Value::stated("PE-X".to_owned(), 0..0);
    let id = p.id.clone();
    fires(&b.check(), "SOL04", Error, &id);
}

// ---- controls: a netlist worked out from the system, then spoiled ----

fn sheet() -> SheetFacts {
    SheetFacts {
        name: "elevation".to_owned(),
        least_text: 2.5,
        scaled: true,
        scale_bar: true,
        ..SheetFacts::default()
    }
}

fn drawn(change: impl Fn(&mut DrawingFacts)) -> Build {
    let mut b = indirect();
    let mut facts = DrawingFacts {
        sheets: vec![sheet()],
        labels: true,
        householder: true,
        ..DrawingFacts::default()
    };
    change(&mut facts);
    b.drawing = Some(facts);
    b
}

#[test]
fn drw_sound_sheets_are_silent() {
    let r = drawn(|_| {}).check();
    for n in 1..=9 {
        silent(&r, &format!("DRW{n:02}"));
    }
    sound(&r);
}

#[test]
fn drw_each_fault_is_found() {
    type Spoil = fn(&mut DrawingFacts);
    let faults: [(&str, firstfix::check::Severity, &str, Spoil); 11] = [
        ("DRW01", Error, "p7", |d| d.sheets[0].unlabelled.push("p7".to_owned())),
        ("DRW02", Error, "elevation", |d| d.sheets[0].missing_fields.push("status".to_owned())),
        ("DRW03", Warning, "elevation", |d| d.sheets[0].least_text = 2.0),
        ("DRW04", Warning, "elevation", |d| d.sheets[0].colour_only.push("hot".to_owned())),
        ("DRW05", Warning, "elevation", |d| d.sheets[0].overlaps = 1),
        ("DRW05", Warning, "elevation", |d| d.sheets[0].gapless_crossings = 2),
        ("DRW06", Error, "elevation", |d| d.sheets[0].scale_bar = false),
        ("DRW06", Error, "elevation", |d| d.sheets[0].scale_error = 0.2),
        ("DRW07", Error, "EV", |d| d.missing_parts.push(("EV".into(), "elevation".into()))),
        ("DRW08", Warning, "A3", |d| d.unlisted_assumptions.push("A3".to_owned())),
        ("DRW09", Error, "TUN", |d| d.unmarked_changes.push("TUN".to_owned())),
    ];
    for (rule, severity, part, spoil) in faults {
        fires(&drawn(spoil).check(), rule, severity, part);
    }
    let r = drawn(|d| d.revision_not_raised = true).check();
    assert!(r.findings.iter().any(|f| f.rule == "DRW09"));
}

// ---- records ----

#[test]
fn doc01_route() {
    let mut b = indirect();
    fires(&b.check(), "DOC01", Advice, "CYL");
    b.system.job.status = "as-built".to_owned();
    fires(&b.check(), "DOC01", Error, "CYL");
    b.system.job.fields.insert("route".to_owned(), "registered installer".to_owned());
    silent(&b.check(), "DOC01");
}

#[test]
fn doc02_copied_readings() {
    let mut b = indirect();
    for (part, key, value) in
        [("CYL", "stored", 60.0), ("MAIN", "static", 4.0), ("EV", "charge", 3.0)]
    {
        b.set(part, &format!("{key}.measured"), value);
    }
    fires(&b.check(), "DOC02", Warning, "EV");
    b.set("CYL", "stored.measured", 61.0);
    silent(&b.check(), "DOC02");
}

#[test]
fn doc03_and_saf15_labels() {
    fires(&drawn(|d| d.labels = false).check(), "DOC03", Warning, "CYL");
    fires(&drawn(|d| d.labels = false).check(), "SAF15", Advice, "CYL");
    silent(&drawn(|_| {}).check(), "SAF15");
}

#[test]
fn doc04_householder() {
    let missing = drawn(|d| d.householder = false).check();
    assert!(missing.findings.iter().any(|f| f.rule == "DOC04" && f.severity == Warning));
    let words = drawn(|d| d.trade_words.push("tundish".to_owned())).check();
    assert!(words.findings.iter().any(|f| f.rule == "DOC04"));
    silent(&drawn(|_| {}).check(), "DOC04");
}

#[test]
fn doc05_main_not_measured() {
    let mut b = indirect();
    silent(&b.check(), "DOC05");
    b.get("MAIN").attrs.0.remove("at");
    fires(&b.check(), "DOC05", Warning, "MAIN");
    b.assume("MAIN", "at", 20.0);
    let r = b.check();
    let f = fires(&r, "DOC05", Advice, "MAIN");
    assert!(f.assumed && f.title.starts_with("NOT MEASURED"), "{}", f.title);
}

#[test]
fn doc06_pressure_test() {
    let mut b = indirect();
    silent(&b.check(), "DOC06");
    b.system.job.status = "as-built".to_owned();
    assert!(b.check().findings.iter().any(|f| f.rule == "DOC06" && f.severity == Warning));
    for (key, value) in [("test-start", "7.5 bar"), ("test-end", "7.5 bar"), ("test-time", "1 h")] {
        b.system.job.fields.insert(key.to_owned(), value.to_owned());
    }
    silent(&b.check(), "DOC06");
}

// ---- the report ----

/// Repeated findings become one line that says how many and which is worst.
#[test]
fn repeated_findings_are_grouped() {
    let mut b = super::discharge::shared(8, "35");
    for i in 1..=8 {
        let (from, to) = (format!("TUN{i}"), format!("T{i}"));
        b.long(&from, &to, 9.0 + i as f64, 2.0);
    }
    let r = b.check();
    let of: Vec<_> = r.findings.iter().filter(|f| f.rule == "DIS04").collect();
    assert_eq!(of.len(), 1, "{:?}", of);
    assert!(of[0].title.contains("8 places: TUN1, TUN2"), "{}", of[0].title);
    assert!(of[0].title.contains("worst: 22 mm too small: 18.6 of 9.0 m"), "{}", of[0].title);
    assert_eq!(of[0].parts.len(), 8);
}

#[test]
fn findings_come_gravest_first() {
    let mut b = indirect();
    b.take_out("STR");
    b.take_out("NRV");
    let r = b.check();
    let order: Vec<_> = r.findings.iter().map(|f| f.severity).collect();
    let mut sorted = order.clone();
    sorted.sort();
    assert_eq!(order, sorted);
    assert!(r.has_error());
}

#[test]
fn explain_says_what_why_source_and_mend() {
    let e = explain("DIS04").unwrap();
    let text = e.to_string();
    for head in ["DIS04 (error)", "What it finds", "Why it matters", "Source", "Mend"] {
        assert!(text.contains(head), "{text}");
    }
    assert!(explain("DIS99").is_none());
    // Each rule's figures are listed with it.
    assert!(explain("DIS01").unwrap().limits.iter().any(|l| l.contains("600 mm")));
    assert!(catalogue().len() >= 120, "{}", catalogue().len());
}
