//! A plant room as it would be described. In: how many circuits. Out: the text.

/// Four stores on a header and so many pumped circuits.
pub fn plant_room(zones: usize) -> String {
    let mut text = String::from(
        "job \"Plant\" number=\"PL-1\"\nmain static=6.0 dynamic=5.0 at=120\n\
         boiler kw=160 flow=70 return=50\nlow-loss-header\n\
         outlets { bath 8; shower 24; basin 40; kitchen-sink 6; wc 40 }\n\
         discharge length=4 elbows=2\n",
    );
    for i in 1..=4 {
        text +=
            &format!("cylinder \"store {i}\" litres=500 heated=\"indirect\" {{ coil kw=30 }}\n");
    }
    for i in 1..=zones {
        text += &format!("zone \"zone {i}\" kw=3 radiators=3\n");
    }
    text
}
