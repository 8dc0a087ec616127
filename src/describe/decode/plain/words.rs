//! The words by which people begin lines that are none of the language. Plain tables; the words are
//! the trade's and everyday ones, no source.

/// Words before what a line is about that say nothing of it.
pub const FILLERS: [&str; 36] = [
    "the", "a", "an", "its", "it's", "is", "in", "and", "also", "plus", "about", "approx",
    "around", "circa", "maybe", "roughly", "need", "needs", "want", "fit", "fitting", "install",
    "keep", "new", "existing", "proposed", "heating", "hi", "hello", "hiya", "morning", "ok",
    "got", "have", "please", "just",
];

/// Words that one matter alone is said with: the word, and the lines that it may belong to; the
/// first where none of them stands right above.
pub const OWN: &[(&str, &[&str])] = &[
    ("incoming", &["main"]),
    ("pressure", &["main"]),
    ("static", &["main"]),
    ("dynamic", &["main"]),
    ("standing", &["main"]),
    ("working", &["main"]),
    ("running", &["main"]),
    ("water", &["main"]),
    ("flow", &["main", "boiler", "heat-pump"]),
    ("indirect", &["cylinder"]),
    ("unvented", &["cylinder"]),
    ("direct", &["cylinder"]),
    ("heated", &["cylinder"]),
    ("litres", &["cylinder"]),
    ("coil", &["cylinder"]),
    ("diameter", &["cylinder"]),
    ("dia", &["cylinder"]),
    ("width", &["cupboard"]),
    ("depth", &["cupboard"]),
    ("height", &["cupboard", "cylinder"]),
    ("ceiling", &["cupboard"]),
    ("location", &["boiler", "heat-pump", "cylinder"]),
    ("return", &["boiler", "heat-pump"]),
    ("bedrooms", &["dwelling"]),
    ("bathrooms", &["dwelling"]),
];

/// Words of [`OWN`] that need the line they belong to above them: alone they could mean several.
pub const NEED_THEIR_LINE: [&str; 5] = ["height", "location", "return", "litres", "coil"];

/// Lines that belong inside the cupboard's.
pub const OF_THE_CUPBOARD: [&str; 4] = ["door", "wall", "floor", "obstacle"];

/// Words after a figure that count what a dwelling has.
pub const OF_THE_DWELLING: &[(&str, &str)] = &[
    ("bed", "bedrooms"),
    ("beds", "bedrooms"),
    ("bedroom", "bedrooms"),
    ("bedrooms", "bedrooms"),
    ("bathroom", "bathrooms"),
    ("bathrooms", "bathrooms"),
];

/// Words that are emitters, and the property that counts them.
pub const EMITTERS: [(&str, &str); 9] = [
    ("rads", "radiators"),
    ("rad", "radiators"),
    ("radiators", "radiators"),
    ("radiator", "radiators"),
    ("ufh", "underfloor"),
    ("underfloor", "underfloor"),
    ("under-floor", "underfloor"),
    ("towel-rails", "towel-rails"),
    ("towel-rail", "towel-rails"),
];
/// Words that only say that a figure counts.
pub const COUNTING: [&str; 14] = [
    "no", "nr", "off", "x", "of", "loops", "circuits", "ports", "circuit", "each", "number",
    "heating", "on", "total",
];
/// Words for parts of a house, of which a zone's name may be made.
pub const PLACES: [&str; 34] = [
    "upstairs",
    "downstairs",
    "up",
    "down",
    "ground",
    "first",
    "second",
    "top",
    "floor",
    "hall",
    "landing",
    "lounge",
    "living",
    "dining",
    "kitchen",
    "bedroom",
    "bedrooms",
    "bathroom",
    "room",
    "rooms",
    "loft",
    "attic",
    "extension",
    "annexe",
    "whole",
    "house",
    "front",
    "back",
    "conservatory",
    "basement",
    "garage",
    "utility",
    "1st",
    "2nd",
];

/// What ends or fills a remark on something that goes, with a space on both sides.
pub const GOING: [&str; 12] = [
    " coming out ",
    " to come out ",
    " to be removed ",
    " being removed ",
    " removed ",
    " taken out ",
    " ripped out ",
    " stripped out ",
    " to go ",
    " redundant ",
    " to stay ",
    " stays ",
];
/// Words that begin a remark on something that goes.
pub const TAKING: [&str; 4] = ["remove", "removing", "strip", "decommission"];

/// Words of the job that stand on a line of their own: the word, and the job's.
pub const OF_THE_JOB: &[(&str, &str)] = &[
    ("client", "client"),
    ("customer", "client"),
    ("owner", "owner"),
    ("address", "address"),
    ("addr", "address"),
    ("site", "address"),
    ("tel", "phone"),
    ("phone", "phone"),
    ("mobile", "phone"),
    ("mob", "phone"),
    ("email", "email"),
    ("date", "date"),
    ("visit", "date"),
    ("visited", "date"),
    ("surveyed", "date"),
    ("postcode", "postcode"),
    ("note", "note"),
    ("notes", "note"),
    ("remark", "note"),
    ("nb", "note"),
];

/// Words that end the name of a street or a house.
pub const STREETS: [&str; 43] = [
    "street", "st", "road", "rd", "lane", "ln", "close", "cl", "avenue", "ave", "drive", "dr",
    "way", "terrace", "court", "place", "gardens", "gdns", "crescent", "cres", "hill", "view",
    "mews", "grove", "row", "park", "cottage", "house", "farm", "barn", "walk", "rise", "green",
    "square", "quay", "wharf", "lodge", "villa", "villas", "bank", "mill", "hall", "yard",
];
/// Titles before a person's name.
pub const TITLES: [&str; 6] = ["mr", "mrs", "ms", "miss", "dr", "rev"];
