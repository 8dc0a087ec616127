//! FIT and STR: geometry and common practice; joists after the guidance on solid timber.

use firstfix::check::Severity::{Advice, Error, Warning};
use firstfix::layout::cupboard::plan::{
    Access, Exit, Fault, Form, HeightChain, HeightLink, PlacedPort, Trouble,
};
use firstfix::model::{Attrs, Box3, Datum, Obstacle, P3, Side, Tail, Value};

use super::build::{Build, fires, silent, sound};
use super::systems::indirect;

/// The sound system in a cupboard of 1000 by 800 by 2400.
fn room() -> Build {
    let mut b = indirect();
    b.cupboard(1000.0, 800.0, 2400.0);
    b
}

/// The same with the cylinder placed.
fn placed() -> Build {
    let mut b = room();
    b.body("CYL", Form::Upright, [225.0, 125.0, 0.0, 550.0, 550.0, 1500.0]);
    b
}

#[test]
fn fit01_door() {
    let mut b = room();
    let door = |b: &mut Build, width: f64| {
        let door = b.system.site.cupboard.as_mut().unwrap().door.as_mut().unwrap();
        door.clear_width = Value::stated(width, 0..0);
    };
    door(&mut b, 559.0);
    let r = b.check();
    assert_eq!(fires(&r, "FIT01", Error, "CYL").margin, Some(-1.0));
    door(&mut b, 560.0);
    silent(&b.check(), "FIT01");
    b.assume("CYL", "diameter", 580.0);
    assert!(fires(&b.check(), "FIT01", Advice, "CYL").assumed);
}

/// √(550² + 2040²) = 2113: tilts up under 2120, not under 2100.
#[test]
fn fit02_tilt() {
    let mut b = room();
    b.set("CYL", "height", 2040.0);
    b.system.site.cupboard.as_mut().unwrap().height = Value::stated(2100.0, 0..0);
    fires(&b.check(), "FIT02", Error, "CYL");
    b.system.site.cupboard.as_mut().unwrap().height = Value::stated(2120.0, 0..0);
    silent(&b.check(), "FIT02");
    // What the door lets in upright needs no tilting.
    b.set("CYL", "height", 1990.0);
    b.system.site.cupboard.as_mut().unwrap().height = Value::stated(2000.0, 0..0);
    silent(&b.check(), "FIT02");
}

/// No tilting helps what is taller than the room, and the clearance above is not told of besides.
#[test]
fn fit02_taller_than_the_room() {
    let mut b = room();
    b.set("CYL", "height", 1900.0);
    b.system.site.cupboard.as_mut().unwrap().height = Value::stated(1500.0, 0..0);
    let r = b.check();
    let f = fires(&r, "FIT02", Error, "CYL");
    assert_eq!((f.found, f.limit, f.margin), (Some(1900.0), Some(1500.0), Some(-400.0)));
    assert!(!f.mend.contains("walk it in"), "{}", f.mend);
    silent(&r, "FIT06");
}

/// Of a factory-fitted unit the case has to pass the door, not the cylinder in it.
#[test]
fn fit01_case_of_a_factory_fitted_unit() {
    let text = |door: u32| {
        format!(
            "job \"x\"\ncupboard width=1300 depth=950 height=2400 {{ door clear-width={door} \
             clear-height=1981; wall \"left\" outside=#true }}\nmain static=(measured)4 \
             dynamic=(measured)3.2 at=(measured)27\ncylinder litres=210 heated=\"indirect\" \
             factory-fitted=#true diameter=580 height=1500 {{ coil kw=20 }}\nboiler kw=24\n\
             zone kw=5 radiators=5\ndischarge wall=\"left\" length=3 elbows=2 to=\"gully\"\n"
        )
    };
    let check = |door| firstfix::pipeline::work_out(&text(door)).project.unwrap().report;
    // The case is 700 wide by the catalogue's own sum; 640 lets a cylinder of 580 through.
    let r = check(640);
    let f = r.findings.iter().find(|f| f.rule == "FIT01").expect("the case passes no 640");
    assert!(f.title.starts_with("case ") && f.found.unwrap() > 640.0, "{f:?}");
}

/// Each tail that lies outside stands by itself, named by its service.
#[test]
fn fit04_tails_are_told_one_by_one() {
    let mut b = placed();
    for (i, x) in [1300.0, -80.0, 900.0].into_iter().enumerate() {
        let id = b.system.pipes[i].id.clone();
        b.plan.as_mut().unwrap().faults.push(Fault {
            trouble: Trouble::Tail,
            what: format!("tail of {id} at x {x} lies outside the cupboard"),
            parts: vec![id],
            pipe: Some(firstfix::model::PipeIx(i)),
            at: None,
        });
    }
    let r = b.check();
    let of: Vec<_> = r.findings.iter().filter(|f| f.rule == "FIT04").collect();
    assert_eq!(of.len(), 3);
    for f in of {
        assert!(f.title.contains(" to ") && !f.title.contains(&f.parts[0]), "{}", f.title);
        assert!(f.mend.contains("correct its x"), "{}", f.mend);
    }
}

#[test]
fn a_tail_that_was_moved_says_what_was_stated() {
    let mut b = placed();
    b.system.pipes[0].tail = Some(Tail {
        name: "main".to_owned(),
        side: None,
        x: Some(Value::stated(1300.0, 0..0)),
        y: Some(Value::stated(140.0, 0..0)),
        z: Some(Value::stated(5.0, 0..0)),
    });
    let pipe = &b.system.pipes[0];
    let exit = |x: f64, y: f64| Exit { side: Side::Floor, at: P3::new(x, y, 0.0), core: 34.0 };
    assert_eq!(exit(1080.0, 140.0).moved(pipe), [("x", 1300.0)]);
    assert_eq!(exit(1300.0, 140.4).moved(pipe), []);
}

#[test]
fn fit03_withdrawal() {
    let mut b = placed();
    // To the door it draws out; to the left there are 225 mm.
    b.set("IM", "angle", 0.0);
    silent(&b.check(), "FIT03");
    b.set("IM", "angle", 90.0);
    let r = b.check();
    let f = fires(&r, "FIT03", Error, "IM");
    assert_eq!((f.found, f.limit), (Some(225.0), Some(450.0)));
}

#[test]
fn fit04_overlap() {
    let mut b = placed();
    silent(&b.check(), "FIT04");
    b.body("EV", Form::Domed, [700.0, 300.0, 400.0, 250.0, 250.0, 350.0]);
    fires(&b.check(), "FIT04", Error, "EV");
    // In the corner beside the round cylinder there is room, though the boxes meet.
    b.plan.as_mut().unwrap().solids[1].at =
        Box3 { x: 730.0, y: 0.0, z: 400.0, w: 200.0, d: 200.0, h: 350.0 };
    silent(&b.check(), "FIT04");
}

#[test]
fn fit04_pipe_through_a_body() {
    let mut b = placed();
    b.route("PRV", "T-bal", &[[100.0, 400.0, 300.0], [900.0, 400.0, 300.0]]);
    let r = b.check();
    fires(&r, "FIT04", Error, "CYL");
    b.plan.as_mut().unwrap().routes[0].points =
        vec![P3::new(100.0, 30.0, 300.0), P3::new(900.0, 30.0, 300.0)];
    silent(&b.check(), "FIT04");
    let fault = Fault {
        trouble: Trouble::Way,
        what: "no way for the hot pipe".to_owned(),
        parts: vec!["CYL".to_owned()],
        pipe: None,
        at: None,
    };
    b.plan.as_mut().unwrap().faults.push(fault);
    fires(&b.check(), "FIT04", Error, "CYL");
}

#[test]
fn fit04_stated_place_in_the_wall() {
    let mut b = room();
    b.get("CYL").place.x = Some(Value::stated(200.0, 0..0));
    b.get("CYL").place.y = Some(Value::stated(300.0, 0..0));
    let r = b.check();
    assert_eq!(fires(&r, "FIT04", Error, "CYL").margin, Some(-75.0));
}

#[test]
fn fit05_hand_space() {
    let mut b = placed();
    let solid = b.body("STR", Form::Box, [50.0, 0.0, 300.0, 80.0, 50.0, 80.0]);
    solid.access.push(Access {
        at: Box3 { x: 50.0, y: 50.0, z: 300.0, w: 80.0, d: 150.0, h: 80.0 },
        why: "hand and spanner".to_owned(),
    });
    silent(&b.check(), "FIT05");
    b.body("EV", Form::Box, [40.0, 60.0, 250.0, 150.0, 100.0, 200.0]);
    fires(&b.check(), "FIT05", Warning, "STR");
}

#[test]
fn fit06_overhead() {
    let mut b = room();
    b.system.site.cupboard.as_mut().unwrap().height = Value::stated(1680.0, 0..0);
    let r = b.check();
    assert_eq!(fires(&r, "FIT06", Warning, "CYL").margin, Some(-20.0));
    b.system.site.cupboard.as_mut().unwrap().height = Value::stated(1700.0, 0..0);
    silent(&b.check(), "FIT06");
}

#[test]
fn fit07_spacing() {
    let mut b = placed();
    b.route("PRV", "T-bal", &[[100.0, 30.0, 200.0], [100.0, 30.0, 1200.0]]);
    b.route("T-bal", "NRV", &[[140.0, 30.0, 200.0], [140.0, 30.0, 1200.0]]);
    // Centres 40 mm apart: 18 mm between.
    let id = b.pipe("PRV", "T-bal").id.clone();
    let r = b.check();
    assert_eq!(fires(&r, "FIT07", Warning, &id).found, Some(18.0));
    for p in &mut b.plan.as_mut().unwrap().routes[1].points {
        p.x = 142.0;
    }
    silent(&b.check(), "FIT07");
    // Lagging takes the gap away again.
    b.plan.as_mut().unwrap().routes[1].lagging = 13.0;
    fires(&b.check(), "FIT07", Warning, &id);
}

#[test]
fn fit08_door_sweep() {
    let mut b = placed();
    b.body("EV", Form::Box, [150.0, 650.0, 400.0, 100.0, 100.0, 200.0]);
    silent(&b.check(), "FIT08");
    b.system.site.cupboard.as_mut().unwrap().door.as_mut().unwrap().inward = true;
    fires(&b.check(), "FIT08", Warning, "EV");
}

#[test]
fn fit09_tail_off_its_line() {
    let mut b = placed();
    b.plan.as_mut().unwrap().solids[0].ports.push(PlacedPort {
        port: 0,
        at: P3::new(500.0, 680.0, 180.0),
        out: Side::Front,
    });
    let tail = |x: f64| Tail {
        name: String::new(),
        side: Some(Value::stated(Side::Floor, 0..0)),
        x: Some(Value::stated(x, 0..0)),
        y: Some(Value::stated(680.0, 0..0)),
        z: None,
    };
    b.pipe("T-dc", "CYL").tail = Some(tail(300.0));
    let r = b.check();
    assert_eq!(fires(&r, "FIT09", Warning, "CYL").found, Some(200.0));
    b.pipe("T-dc", "CYL").tail = Some(tail(400.0));
    silent(&b.check(), "FIT09");
}

#[test]
fn fit10_port_at_the_wall() {
    let mut b = placed();
    let port = |x: f64| PlacedPort { port: 0, at: P3::new(x, 400.0, 180.0), out: Side::Left };
    b.plan.as_mut().unwrap().solids[0].ports.push(port(110.0));
    fires(&b.check(), "FIT10", Error, "CYL");
    b.plan.as_mut().unwrap().solids[0].ports[0] = port(225.0);
    silent(&b.check(), "FIT10");
}

#[test]
fn fit11_impossible_numbers() {
    let mut b = indirect();
    b.set("BLR", "kw", 1.5);
    fires(&b.check(), "FIT11", Error, "BLR");
    let mut b = indirect();
    b.set("CYL", "height", 3500.0);
    fires(&b.check(), "FIT11", Error, "CYL");
    let mut b = indirect();
    b.set("CYL", "port.flow.height", 1600.0);
    let r = b.check();
    assert_eq!(fires(&r, "FIT11", Error, "CYL").margin, Some(-100.0));
    let mut b = indirect();
    b.set("HV", "litres", -18.0);
    fires(&b.check(), "FIT11", Error, "HV");
    let mut b = room();
    let door = b.system.site.cupboard.as_mut().unwrap().door.as_mut().unwrap();
    door.clear_width = Value::stated(21.0, 0..0);
    fires(&b.check(), "FIT11", Error, "cupboard");
}

#[test]
fn fit12_behind_the_cylinder() {
    let mut b = placed();
    b.route("PRV", "T-bal", &[[100.0, 30.0, 300.0], [900.0, 30.0, 300.0]]);
    let id = b.pipe("PRV", "T-bal").id.clone();
    fires(&b.check(), "FIT12", Warning, &id);
    b.plan.as_mut().unwrap().routes[0].before_cylinder = true;
    silent(&b.check(), "FIT12");
}

#[test]
fn fit13_studs() {
    let mut b = room();
    b.system.site.cupboard.as_mut().unwrap().datum = Value::stated("stud".to_owned(), 0..0);
    fires(&b.check(), "FIT13", Warning, "cupboard");
    b.system.site.cupboard.as_mut().unwrap().datum = Value::stated("finish".to_owned(), 0..0);
    silent(&b.check(), "FIT13");
}

#[test]
fn fit14_hidden_tundish() {
    let mut b = placed();
    b.body("TUN", Form::Box, [850.0, 0.0, 700.0, 60.0, 60.0, 90.0]);
    silent(&b.check(), "FIT14");
    b.system.site.cupboard.as_mut().unwrap().obstacles.push(Obstacle {
        name: "shelf".to_owned(),
        at: Box3 { x: 780.0, y: 400.0, z: 690.0, w: 200.0, d: 300.0, h: 120.0 },
        span: 0..0,
    });
    fires(&b.check(), "FIT14", Error, "TUN");
}

/// A riser of 22 before the edge of a tundish 60 wide hides 16 mm of it, a second beside it 22.
#[test]
fn fit14_tundish_behind_pipes() {
    let mut b = placed();
    b.body("TUN", Form::Box, [850.0, 0.0, 700.0, 60.0, 60.0, 90.0]);
    b.route("PRV", "T-bal", &[[855.0, 300.0, 0.0], [855.0, 300.0, 2000.0]]);
    silent(&b.check(), "FIT14");
    b.route("T-bal", "NRV", &[[895.0, 300.0, 0.0], [895.0, 300.0, 2000.0]]);
    let r = b.check();
    let f = fires(&r, "FIT14", Advice, "TUN");
    assert!((f.found.unwrap() - 63.3).abs() < 1.0, "{f:?}");
    // Behind the tundish they hide nothing.
    for route in &mut b.plan.as_mut().unwrap().routes {
        route.points.iter_mut().for_each(|p| p.y = 20.0);
    }
    silent(&b.check(), "FIT14");
}

#[test]
fn dis12_tundish_over_electrics() {
    let mut b = placed();
    b.add("X1", "wiring centre");
    b.body("TUN", Form::Box, [100.0, 0.0, 900.0, 60.0, 60.0, 90.0]);
    b.body("X1", Form::Box, [150.0, 0.0, 500.0, 200.0, 60.0, 150.0]);
    fires(&b.check(), "DIS12", Warning, "TUN");
    b.plan.as_mut().unwrap().solids[2].at.x = 700.0;
    silent(&b.check(), "DIS12");
    // Above the tundish it stays dry.
    b.plan.as_mut().unwrap().solids[2].at.x = 150.0;
    b.plan.as_mut().unwrap().solids[2].at.z = 1500.0;
    silent(&b.check(), "DIS12");
}

/// What is said to be nearest is what a tape finds nearest: motors, pumps and thermostats too.
#[test]
fn dis12_tells_the_nearest_of_all() {
    let mut b = placed();
    b.add("X1", "wiring centre");
    b.body("TUN", Form::Box, [100.0, 0.0, 900.0, 60.0, 60.0, 90.0]);
    b.body("X1", Form::Box, [900.0, 0.0, 500.0, 200.0, 60.0, 150.0]);
    b.body("ZV1", Form::Box, [460.0, 0.0, 500.0, 100.0, 90.0, 100.0]);
    // 300 to the right and 300 below: 424 by Pythagoras.
    let r = b.check();
    let pass = r.passes.iter().find(|f| f.rule == "DIS12").expect("it holds");
    assert!(pass.title.contains("ZV1 zone valve, 424 mm"), "{}", pass.title);
    assert!((pass.found.unwrap() - 424.26).abs() < 0.01, "{pass:?}");
    // A motor under it gets wet as a box does.
    b.plan.as_mut().unwrap().solids[3].at.x = 120.0;
    let f = fires(&b.check(), "DIS12", Warning, "TUN").clone();
    assert!(f.title.starts_with("zone valve under"), "{}", f.title);
}

/// Heights of the chain as laid out.
#[test]
fn dis13_chain_of_the_layout() {
    let mut b = placed();
    let link = |slack: f64| HeightLink {
        what: "tundish".to_owned(),
        z: 800.0,
        drop: 300.0,
        slack: Some(slack),
        says: String::new(),
        mend: "set the cylinder on a plinth".to_owned(),
    };
    let chain = |links: Vec<HeightLink>| HeightChain { tundish: "TUN".to_owned(), links };
    b.plan.as_mut().unwrap().heights = vec![chain(vec![link(40.0), link(-25.0)])];
    let r = b.check();
    let f = fires(&r, "DIS13", Error, "TUN");
    assert_eq!((f.margin, f.mend.as_str()), (Some(-25.0), "set the cylinder on a plinth"));
    b.plan.as_mut().unwrap().heights = vec![chain(vec![link(40.0), link(0.0)])];
    silent(&b.check(), "DIS13");
}

/// The drop under the tundish as routed: 250 mm, then a bend.
#[test]
fn dis03_as_routed() {
    let mut b = placed();
    b.get("TUN").attrs.0.remove("first-drop");
    b.route("TUN", "GY", &[[900.0, 30.0, 800.0], [900.0, 30.0, 550.0], [1000.0, 30.0, 550.0]]);
    let r = b.check();
    assert_eq!(fires(&r, "DIS03", Error, "TUN").found, Some(250.0));
    b.plan.as_mut().unwrap().routes[0].points[1].z = 500.0;
    b.plan.as_mut().unwrap().routes[0].points[2].z = 500.0;
    silent(&b.check(), "DIS03");
    // A pipe that climbs again fails the fall.
    b.plan.as_mut().unwrap().routes[0].points.push(P3::new(1000.0, 30.0, 560.0));
    fires(&b.check(), "DIS05", Error, "TUN");
}

#[test]
fn str01_floor_load() {
    let mut b = room();
    let floor = |b: &mut Build, key: &str, value: Datum| {
        let attrs: &mut Attrs = &mut b.system.site.cupboard.as_mut().unwrap().floor.attrs;
        attrs.set(key, Value::stated(value, 0..0));
    };
    b.figure("store.mass", "CYL", 262.0, &[]);
    silent(&b.check(), "STR01");
    // A floor that nobody has described is not passed over, a solid one is.
    b.figure("cupboard.floor-load", "cupboard", 2.54, &[]);
    fires(&b.check(), "STR01", Advice, "cupboard");
    floor(&mut b, "kind", Datum::Text("solid".to_owned()));
    silent(&b.check(), "STR01");
    b.figure("cupboard.floor-load", "cupboard", 1.4, &[]);
    floor(&mut b, "kind", Datum::Text("timber".to_owned()));
    let r = b.check();
    assert!((fires(&r, "STR01", Warning, "CYL").found.unwrap() - 2.569).abs() < 0.001);
    floor(&mut b, "spreader", Datum::Flag(true));
    silent(&b.check(), "STR01");
}

/// Joist 225 deep, span 3.5 m: hole to 56.3 mm between 875 and 1400 mm of a support.
#[test]
fn str02_joists() {
    let mut b = room();
    let floor = |b: &mut Build, key: &str, value: f64| {
        let attrs: &mut Attrs = &mut b.system.site.cupboard.as_mut().unwrap().floor.attrs;
        attrs.set_number(key, Value::stated(value, 0..0));
    };
    floor(&mut b, "joist-depth", 225.0);
    floor(&mut b, "span", 3500.0);
    floor(&mut b, "hole", 56.0);
    floor(&mut b, "hole-at", 900.0);
    silent(&b.check(), "STR02");
    floor(&mut b, "hole-at", 800.0);
    fires(&b.check(), "STR02", Warning, "floor");
    floor(&mut b, "hole-at", 1100.0);
    floor(&mut b, "hole", 57.0);
    fires(&b.check(), "STR02", Warning, "floor");
    floor(&mut b, "hole", 40.0);
    floor(&mut b, "notch", 28.0);
    floor(&mut b, "notch-at", 300.0);
    silent(&b.check(), "STR02");
    floor(&mut b, "notch-at", 900.0);
    fires(&b.check(), "STR02", Warning, "floor");
}

#[test]
fn str03_sleeves_and_fire_stops() {
    let mut b = placed();
    b.route("TUN", "GY", &[[900.0, 30.0, 800.0], [900.0, 30.0, 400.0], [1000.0, 30.0, 400.0]]);
    let exit = |core: f64| Exit { side: Side::Right, at: P3::new(1000.0, 30.0, 400.0), core };
    b.plan.as_mut().unwrap().routes[0].exit = Some(exit(22.0));
    let id = b.pipe("TUN", "GY").id.clone();
    fires(&b.check(), "STR03", Warning, &id);
    b.plan.as_mut().unwrap().routes[0].exit = Some(exit(38.0));
    silent(&b.check(), "STR03");
    b.dwelling("flat", Datum::Flag(true));
    let tail = Tail { name: String::new(), side: None, x: None, y: None, z: None };
    b.pipe("TUN", "GY").tail = Some(tail);
    fires(&b.check(), "STR03", Warning, &id);
    b.dwelling("fire-stopped", Datum::Flag(true));
    silent(&b.check(), "STR03");
}

/// BS EN 806-4: 22 mm copper 1.8 m level.
#[test]
fn str04_clips() {
    let mut b = placed();
    let clips = |x: f64| vec![P3::new(50.0, 30.0, 300.0), P3::new(x, 30.0, 300.0)];
    b.route("PRV", "T-bal", &[[50.0, 30.0, 2000.0], [50.0, 30.0, 2200.0]]).clips = clips(1950.0);
    let id = b.pipe("PRV", "T-bal").id.clone();
    fires(&b.check(), "STR04", Warning, &id);
    b.plan.as_mut().unwrap().routes[0].clips = clips(1850.0);
    silent(&b.check(), "STR04");
    sound(&indirect().check());
}
