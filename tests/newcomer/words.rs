//! What is typed, and what it is read as.

use firstfix::describe::read;
use firstfix::diagnostic::Severity;

/// What a heating engineer types on a phone, and what it is read as.
#[test]
fn words_of_the_trade_are_read_as_meant() {
    let mut wrong = Vec::new();
    for (typed, meant) in [
        ("cyl 210", "cylinder litres=210"),
        ("discharge out the back to the gulley", "discharge wall=\"back\" to=\"gully\""),
        ("boiler 24", "boiler kw=24"),
        ("main 3.5 2.5 22", "main static=3.5 dynamic=2.5 at=22"),
        ("main 3.5 22", "main static=3.5 at=22"),
        ("vessel \"heating\" 12", "vessel \"heating\" litres=12"),
        ("rads 9", "zone radiators=9"),
        ("9 rads", "zone radiators=9"),
        ("ufh 6", "zone underfloor=6"),
        ("zone \"all\" UNDERFLOOR 6", "zone \"all\" underfloor=6"),
        ("1 bath 1 shower 2 toilets", "outlets { bath; shower; wc 2 }"),
        ("outlets {\n 2 baths\n shower\n}", "outlets { bath 2; shower }"),
        ("210 litre cylinder indirect", "cylinder litres=210 heated=\"indirect\""),
        ("new cylinder 170 litre unvented indirect", "cylinder litres=170 heated=\"indirect\""),
        ("24 kW system boiler in kitchen", "boiler kw=24 kind=\"system\" place=\"kitchen\""),
        ("House 22 Mill Lane, 3 bedrooms", "job \"22 Mill Lane\"\ndwelling bedrooms=3"),
        ("house bedrooms=3", "dwelling bedrooms=3"),
        ("HOUSE 3 BEDROOMS", "dwelling bedrooms=3"),
        ("cylinder 170 l electric", "cylinder litres=170 heated=\"electric\""),
        ("cylinder \"170 l\" \"electric\"", "cylinder litres=170 heated=\"electric\""),
        ("cylinder \"45 gal\"", "cylinder litres=\"45 gal\""),
        (
            "cylinder type=\"unvented indirect\" coil=20kw",
            "cylinder heated=\"indirect\" coil-kw=20",
        ),
        ("cylinder litres=210 — coil kw=20", "cylinder litres=210 { coil kw=20 }"),
        ("hot water cylinder 210 litres", "cylinder litres=210"),
        ("boiler 24kW combi place=\"loft\"", "boiler kw=24 kind=\"combi\" place=\"loft\""),
        ("boiler \"35 kW\"", "boiler kw=35"),
        ("combi boiler 24 kW", "combi-boiler kw=24"),
        ("gas boiler \"garage\" kw=24", "boiler \"garage\" kw=24"),
        ("air source heat pump 8kW", "heat-pump kw=8"),
        ("mains static=3.5 dynamic=2.5 flow=20", "main static=3.5 dynamic=2.5 at=20"),
        ("heating zone 1 \"upstairs rads\"", "zone \"upstairs rads\""),
        (
            "outlets { bath; tub; hand basin 2; washing machine; loo 2; kitchen sink }",
            "outlets { bath; bath; basin 2; washing-machine; wc 2; kitchen-sink }",
        ),
        ("kitchen sink 2", "outlets { kitchen-sink 2 }"),
        ("D2 to=\"gully\" length=3m", "discharge to=\"gully\" length=3"),
        ("expansion vessel \"heating\" 12 l", "vessel \"heating\" litres=12"),
        ("reducing valve 3bar", "reducing-valve setting=3"),
        ("discharge length=3 elbows=two", "discharge length=3 elbows=2"),
        ("main 3.5 bar 22 l/min", "main static=3.5 at=22"),
        ("incoming 3.5bar 22 lpm", "main static=3.5 at=22"),
        ("cold supply 3.5 bar 22 l/min", "main static=3.5 at=22"),
        ("hi, main 3.5 bar 22 l/min", "main static=3.5 at=22"),
        ("got boiler 24 kW", "boiler kw=24"),
        ("panels 4m2", "solar area=4"),
        ("zones up / down", "zone \"upstairs\"\nzone \"downstairs\""),
        ("main 3.5 bar dynamic 2.5 at 22l/min", "main static=3.5 dynamic=2.5 at=22"),
        ("main static 3.5 bar, dynamic 2.5 bar, flow 22", "main static=3.5 dynamic=2.5 at=22"),
        ("main pressure=3.5 flow=22", "main static=3.5 at=22"),
        (
            "cyclinder 210 litres indirect coil 20kw",
            "cylinder litres=210 heated=\"indirect\" { coil kw=20 }",
        ),
        (
            "discharge right wall 3m 2 elbows gully",
            "discharge wall=\"right\" length=3 elbows=2 to=\"gully\"",
        ),
        ("discharge 22mm 4 m to the gully", "discharge size=22 length=4 to=\"gully\""),
        ("zone upstairs 6kw 5 rads", "zone \"upstairs\" kw=6 radiators=5"),
        ("zone back bedroom 2 rads", "zone \"back bedroom\" radiators=2"),
        ("boiler 24kw 70/50 in kitchen", "boiler kw=24 flow=70 return=50 place=\"kitchen\""),
        ("cupboard 1.1m wide 80cm deep 2.35m high", "cupboard width=1100 depth=800 height=2350"),
        ("cupboard 1100 x 800 x 2350", "cupboard width=1100 depth=800 height=2350"),
        ("cupboard 1100x800x2350", "cupboard width=1100 depth=800 height=2350"),
        ("cupbord widht=1100, depth=800", "cupboard width=1100 depth=800"),
        (
            "outlets bath, shower, 2 basins, kitchen sink, loo",
            "outlets { bath; shower; basin 2; kitchen-sink; wc }",
        ),
        ("outlets { bath, basin 2, dish washer }", "outlets { bath; basin 2; dishwasher }"),
        ("outlets bath shower basin x2 sink", "outlets { bath; shower; basin 2; kitchen-sink }"),
        ("MAIN STATIC 3,5 DYNAMIC 2,5 AT 22", "main static=3.5 dynamic=2.5 at=22"),
        ("BOILER 30 KW PLACE \"UTILITY\"", "boiler kw=30 place=\"UTILITY\""),
        ("zone rads 6 kw", "zone emitters=\"radiators\" kw=6"),
        (
            "OUTLETS BATH SHOWER 2 BASINS 3 SINK WC 3",
            "outlets { bath; shower 2; basin 3; kitchen-sink; wc 3 }",
        ),
        (
            "DISCHARGE BACK 2M 2 ELBOWS GULLY",
            "discharge wall=\"back\" length=2 elbows=2 to=\"gully\"",
        ),
        ("cupboard 1.1 x 0.8 x 2.35", "cupboard width=1100 depth=800 height=2350"),
        ("cupboard w1100 d800 h2350", "cupboard width=1100 depth=800 height=2350"),
        ("cupboard: width: 1100, depth: 800", "cupboard width=1100 depth=800"),
        ("boiler = 24 kW", "boiler kw=24"),
        ("- boiler 24 kW in the garage", "boiler kw=24 place=\"garage\""),
        ("cyl 300 litres heat pump", "cylinder litres=300 heated=\"heat pump\""),
        ("zone upstairs rads 3kw", "zone \"upstairs\" emitters=\"radiators\" kw=3"),
        ("zone ground ufh 5kw 7 loops", "zone \"ground\" emitters=\"underfloor\" kw=5 circuits=7"),
        ("job Mrs Bell 5 Mill View", "job \"Mrs Bell 5 Mill View\""),
        (
            "outlets: bath, en suite shower, k sink, washing m/c, 2 wcs",
            "outlets { bath; shower \"en suite\"; kitchen-sink; washing-machine; wc 2 }",
        ),
        (
            "discharge out the right wall, about 3 m with 2x bends to a gully",
            "discharge wall=\"right\" length=3 elbows=2 to=\"gully\"",
        ),
        (
            "cupboard width=1100 { wall right outside; door 76cm }",
            "cupboard width=1100 { wall \"right\" outside=#true; door clear-width=760 }",
        ),
        ("dwelling 3 bedrooms 1 bathroom", "dwelling bedrooms=3 bathrooms=1"),
        // Spoken, jotted down, in several breaths.
        ("22 Orchard Close", "job \"22 Orchard Close\""),
        ("Mrs Patel, 14 Mill Rd", "job \"Mrs Patel, 14 Mill Rd\""),
        ("Wren Cottage\nSY12 9QQ", "job \"Wren Cottage\" { postcode \"SY12 9QQ\" }"),
        (
            "Customer: J Smith\nTel 01234 567890",
            "job { client \"J Smith\"; phone \"01234 567890\" }",
        ),
        ("3 bed semi", "dwelling bedrooms=3 kind=\"semi\""),
        ("combi coming out", "note \"combi coming out\""),
        ("pressure 3 bar, flow 18 litres", "main static=3 at=18"),
        ("static 3.5\ndynamic 2.4\nflow 19", "main static=3.5 dynamic=2.4 at=19"),
        ("mains 3.2 bar standing, 2.1 running, 21 l/m", "main static=3.2 dynamic=2.1 at=21"),
        ("mains pressure is three bar and eighteen litres a minute", "main static=3 at=18"),
        (
            "pressure 4 bar static\n3.2 bar dynamic\n28 litres per min",
            "main static=4 dynamic=3.2 at=28",
        ),
        (
            "Mains = 3.5 bar (static), 2.8 bar (dynamic) @ 24 l/min",
            "main static=3.5 dynamic=2.8 at=24",
        ),
        ("incoming main 25mm mdpe 3.1 bar static", "main size=25 material=\"mdpe\" static=3.1"),
        (
            "9 rads upstairs\nrads downstairs 6",
            "zone \"upstairs\" radiators=9\nzone \"downstairs\" radiators=6",
        ),
        (
            "radiators upstairs five, downstairs six",
            "zone \"upstairs\" radiators=5\nzone \"downstairs\" radiators=6",
        ),
        ("UFH ground floor 5 ports", "zone \"ground floor\" underfloor=5"),
        (
            "Heating = 2 zones: up (5 rads), down (6 rads)",
            "zone \"up\" radiators=5\nzone \"down\" radiators=6",
        ),
        ("keep existing rads (8)", "zone radiators=8"),
        ("Radiators\n9", "zone radiators=9"),
        ("cupboard 1000 wide 800 deep 2.3 high", "cupboard width=1000 depth=800 height=2300"),
        (
            "cupboard 3ft 6 wide 2ft 8 deep 7ft 9 high",
            "cupboard width=1066.8 depth=812.8 height=2362.2",
        ),
        ("cupboard 1200 w 900 d 2400 h", "cupboard width=1200 depth=900 height=2400"),
        ("Cupboard = 1100mm W x 850mm D x 2350mm H", "cupboard width=1100 depth=850 height=2350"),
        ("cupboard 110 x 85 x 235 cm", "cupboard width=1100 depth=850 height=2350"),
        ("cupboard 950 x 750", "cupboard width=950 depth=750"),
        ("1050x800x2350", "cupboard width=1050 depth=800 height=2350"),
        (
            "cupboard is about eleven hundred wide eight hundred deep\nceiling two point four",
            "cupboard width=1100 depth=800 height=2400",
        ),
        (
            "cupboard 1000 x 800 x 2300\ndoor 700mm left hinge\nthe right hand wall is outside",
            "cupboard width=1000 depth=800 height=2300 { door clear-width=700 hinge=\"left\"; wall \"right\" outside=#true }",
        ),
        (
            "cupboard:\n width 1100\n depth 850\n height 2350",
            "cupboard width=1100 depth=850 height=2350",
        ),
        ("cyl 250L", "cylinder litres=250"),
        ("new 210 litre unvented cyl indirect", "cylinder litres=210 heated=\"indirect\""),
        ("fit 210ltr indirect unvented", "cylinder litres=210 heated=\"indirect\""),
        ("the cylinder is two hundred and ten litres", "cylinder litres=210"),
        ("Cylinder\n210 litres\nIndirect", "cylinder litres=210 heated=\"indirect\""),
        (
            "cylinder: 210 litres\n height 1500\n dia 550",
            "cylinder litres=210 height=1500 diameter=550",
        ),
        (
            "cylinder 180 ltr\ndirect electric, 2 immersions",
            "cylinder litres=180 heated=\"direct\" immersions=2",
        ),
        ("cylinder 210\nheated by the boiler", "cylinder litres=210 heated=\"boiler\""),
        (
            "cylinder 250 litres, indirect, 20kW coil",
            "cylinder litres=250 heated=\"indirect\" { coil kw=20 }",
        ),
        ("boiler 30kw kitchen", "boiler kw=30 place=\"kitchen\""),
        ("Boiler = 24kW system (garage)", "boiler kw=24 kind=\"system\" place=\"garage\""),
        ("🔥 boiler 24kW ✅", "boiler kw=24"),
        (
            "bath, shower, 2 basins, kitchen sink, 2 loos",
            "outlets { bath; shower; basin 2; kitchen-sink; wc 2 }",
        ),
        ("shower basin2 wc x2 sink", "outlets { shower; basin 2; wc 2; kitchen-sink }"),
        ("bath and shower over", "outlets { bath; shower }"),
        ("taps: bath, showr, baisn, loo x 2", "outlets { bath; shower; basin; wc 2 }"),
        ("wc x3", "outlets { wc 3 }"),
        ("Toilets = 3", "outlets { wc 3 }"),
        ("D2 4m RHS", "discharge length=4 wall=\"right\""),
        (
            "discharge goes out the right hand wall about four metres",
            "discharge wall=\"right\" length=4",
        ),
        (
            "cylinder 210l indirect, boiler 24kw, main 3 bar 22 l/min, 8 rads, bath shower 2 basins sink",
            "cylinder litres=210 heated=\"indirect\"\nboiler kw=24\nmain static=3 at=22\nzone radiators=8\n\
             outlets { bath; shower; basin 2; kitchen-sink }",
        ),
        (
            "combi coming out, 18kw system boiler in kitchen",
            "note \"combi coming out\"\nboiler kw=18 kind=\"system\" place=\"kitchen\"",
        ),
        // In one breath, without a comma.
        ("210l cyl 24kw boiler 3bar", "cylinder litres=210\nboiler kw=24\nmain static=3"),
        (
            "cyl 210l boiler 24kw main 3 bar 22 l/min",
            "cylinder litres=210\nboiler kw=24\nmain static=3 at=22",
        ),
        (
            "210 litre indirect cyl 24 kw system boiler 8 rads bath shower 2 basins wc",
            "cylinder litres=210 heated=\"indirect\"\nboiler kw=24 kind=\"system\"\n\
             zone radiators=8\noutlets { bath; shower; basin 2; wc }",
        ),
        ("boiler 24kw cylinder 210 8 rads", "boiler kw=24\ncylinder litres=210\nzone radiators=8"),
        ("8kw ashp 250l cyl", "heat-pump kw=8\ncylinder litres=250"),
        // Two figures: the careful one.
        ("mains 10-15 l/min 3 bar", "main static=3 at=10"),
        ("main 3bar 18 to 22 l/min", "main static=3 at=18"),
        ("flow 10-15 l/min", "main at=10"),
        ("pressure 3-4 bar", "main static=3"),
        ("d2 3-4m 2 or 3 elbows", "discharge length=4 elbows=3"),
        ("discharge 3 to 4 m 2-3 bends to gully", "discharge length=4 elbows=3 to=\"gully\""),
        ("8-10 rads", "zone radiators=10"),
        ("zones hall and lounge", "zone \"hall\"\nzone \"lounge\""),
        ("ASHP 8kw cyl 250l buffer 50l", "heat-pump kw=8\ncylinder litres=250\nbuffer litres=50"),
        // Zones by their places.
        ("two zones up and down", "zone \"upstairs\"\nzone \"downstairs\""),
        ("2 zones: upstairs, downstairs", "zone \"upstairs\"\nzone \"downstairs\""),
        ("3 zones up and down", "zone \"upstairs\"\nzone \"downstairs\"\nzone"),
        (
            "3 zones ground floor first floor and loft",
            "zone \"ground floor\"\nzone \"first floor\"\nzone \"loft\"",
        ),
        // At seven in the evening.
        ("cyl 250 ind", "cylinder litres=250 heated=\"indirect\""),
        ("hp 12kw", "heat-pump kw=12"),
        ("heatpump 8.5kw 50 deg flow", "heat-pump kw=8.5 flow=50"),
        ("outside tap x2", "outlets { outside-tap 2 }"),
        (
            "discharge 22mm copper 3m 2 bends out back wall to gully",
            "discharge size=22 material=\"copper\" length=3 elbows=2 wall=\"back\" to=\"gully\"",
        ),
        ("24 litre vessel for heating", "vessel \"heating\" litres=24"),
        ("exp vessel 24l", "exp-vessel litres=24"),
        ("ensuite shower and family bath", "outlets { shower \"ensuite\"; bath \"family\" }"),
        ("downstairs loo and basin", "outlets { wc \"downstairs\"; basin }"),
        ("bath & shower", "outlets { bath; shower }"),
        ("secondary return 20m", "secondary-return length=20"),
        ("boiler in loft 28kw condensing", "boiler kw=28 place=\"loft\""),
        ("break tank 300l", "break-tank litres=300"),
        ("static 4bar dynamic 3bar flow 20", "main static=4 dynamic=3 at=20"),
        ("cup board 1000w 800d 2400h", "cupboard width=1000 depth=800 height=2400"),
        (
            "vessel \"heating\" { place x=600 z=1900 wall=\"back\" }",
            "vessel \"heating\" x=600 z=1900 side=\"back\"",
        ),
    ] {
        let reading = read(typed);
        let faults = reading.diagnostics.iter().any(|d| d.severity == Severity::Error);
        let system = |text: &str| firstfix::complete::complete(&read(text).facts).system.digest();
        if faults || system(typed) != system(meant) {
            wrong.push(format!("{typed}: {:?}", reading.diagnostics));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}
