//! The words that begin a line at the top of a description. Plain tables, for whoever cuts a text
//! into lines and for whoever decodes them.

/// Words that may stand at the top of a description (equipment by its catalogue name besides).
pub const TOP: &[&str] = &[
    "job",
    "rules",
    "cupboard",
    "dwelling",
    "main",
    "cylinder",
    "boiler",
    "heat-pump",
    "uncontrolled",
    "zone",
    "outlets",
    "discharge",
    "secondary-return",
    "controls",
    "building",
    "part",
    "unit",
    "run",
    "complete",
    "assumption",
];

/// Other words for nodes, and what stands first in their place.
pub const OTHER_WORDS: &[(&str, &str)] = &[
    ("mains", "main"),
    ("cyl", "cylinder"),
    ("hwc", "cylinder"),
    ("water-main", "main"),
    ("tank", "cylinder"),
    ("store", "cylinder"),
    ("system-boiler", "boiler"),
    ("combination-boiler", "boiler"),
    ("combi", "boiler"),
    ("combi-boiler", "boiler"),
    ("regular-boiler", "boiler"),
    ("heatpump", "heat-pump"),
    ("stove", "uncontrolled"),
    ("solid-fuel", "uncontrolled"),
    ("solid-fuel-boiler", "uncontrolled"),
    ("uncontrolled-source", "uncontrolled"),
    ("room", "cupboard"),
    ("house", "dwelling"),
    ("outlet", "outlets"),
    ("secondary", "secondary-return"),
    ("return-loop", "secondary-return"),
    ("control", "controls"),
    ("parts", "part"),
    ("heating-zone", "zone"),
    ("zones", "zone"),
    ("hot-water-cylinder", "cylinder"),
    ("unvented-cylinder", "cylinder"),
    ("hot-water-tank", "cylinder"),
    ("gas-boiler", "boiler"),
    ("oil-boiler", "boiler"),
    ("condensing-boiler", "boiler"),
    ("ashp", "heat-pump"),
    ("gshp", "heat-pump"),
    ("air-source-heat-pump", "heat-pump"),
    ("wood-burner", "uncontrolled"),
    ("log-burner", "uncontrolled"),
    ("cold-main", "main"),
    ("incoming-main", "main"),
    ("mains-water", "main"),
    ("airing-cupboard", "cupboard"),
    ("cylinder-cupboard", "cupboard"),
    ("plant-room", "cupboard"),
    ("taps", "outlets"),
    ("d1", "discharge"),
    ("d2", "discharge"),
    ("discharge-pipe", "discharge"),
    ("secondary-circulation", "secondary-return"),
    ("hot-water-return", "secondary-return"),
];

/// Whether a word begins a matter of its own, equipment aside.
pub fn begins_a_matter(word: &str) -> bool {
    let word = word.to_lowercase().replace('_', "-");
    TOP.contains(&word.as_str()) || OTHER_WORDS.iter().any(|(other, _)| *other == word)
}
