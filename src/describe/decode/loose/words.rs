//! Words that stand loose on a line. Plain tables; the words are the trade's, no source.

/// Words that stand loose on a line, and the property they mean.
pub const LOOSE: &[(&str, &[&str], &str)] = &[
    (
        "cylinder",
        &[
            "indirect",
            "electric",
            "direct",
            "solar",
            "twin-coil",
            "thermal-store",
            "vented",
            "heat-pump",
            "boiler",
            "immersion",
        ],
        "heated",
    ),
    ("boiler", &["system", "combi", "combination", "regular", "heat-only"], "kind"),
    ("zone", &["radiators", "rads", "underfloor", "ufh"], "emitters"),
    (
        "dwelling",
        &[
            "semi",
            "detached",
            "semi-detached",
            "terrace",
            "terraced",
            "mid-terrace",
            "end-terrace",
            "bungalow",
            "cottage",
            "maisonette",
            "flat",
        ],
        "kind",
    ),
];

/// Loose words that say what is taken for granted anyway.
pub const GRANTED: &[(&str, &[&str])] = &[
    ("cylinder", &["unvented", "mains-pressure", "slimline", "slim", "stainless"]),
    ("boiler", &["gas", "oil", "condensing", "boiler"]),
];

/// The figure that a line is about, of those of one quantity.
pub const MAIN_FIGURE: &[(&str, &str)] = &[
    ("cylinder", "litres"),
    ("boiler", "kw"),
    ("heat-pump", "kw"),
    ("uncontrolled", "kw"),
    ("zone", "kw"),
    ("immersion", "kw"),
    ("coil", "kw"),
    ("solar-coil", "kw"),
    ("vessel", "litres"),
    ("vessel", "charge"),
    ("accumulator", "litres"),
    ("buffer", "litres"),
    ("volumiser", "litres"),
    ("break-tank", "litres"),
    ("reducing-valve", "setting"),
    ("expansion-relief", "setting"),
    ("temperature-relief", "setting"),
    ("safety-valve", "setting"),
    ("bypass-valve", "setting"),
    ("discharge", "length"),
    ("main", "static"),
    ("door", "clear-width"),
    ("door", "clear-height"),
    ("secondary-return", "length"),
];

/// Words that only join others.
pub const JOINING: [&str; 31] = [
    "by", "x", "×", "and", "the", "a", "of", "with", "out", "about", "approx", "going", "goes",
    "away", "on", "is", "through", "each", "@", "opens", "at", "tap", "mains", "pipe", "run",
    "from", "to", "around", "roughly", "~", "incoming",
];
/// A pressure on a boiler's line is the heating's rather than its safety valve's, degrees are of
/// water rather than of how a thing stands.
pub const NEVER_LOOSE: [&str; 2] = ["valve-setting", "turn"];
/// Properties in words that people write behind their name, as `place utility`.
pub const WORDED: [&str; 5] = ["place", "heated", "kind", "room", "hinge"];
/// Words of a name typed without quotes.
pub const WORDS_OF_A_NAME: usize = 3;

/// Rooms in which a boiler or a softener stands.
pub const ROOMS: [&str; 17] = [
    "kitchen",
    "garage",
    "loft",
    "attic",
    "utility",
    "outside",
    "hall",
    "landing",
    "bathroom",
    "basement",
    "cellar",
    "shed",
    "outhouse",
    "conservatory",
    "porch",
    "bedroom",
    "pantry",
];
