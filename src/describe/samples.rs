//! One right line for every word of the language. In: the word that a line begins with. Out: a
//! line that reads without a murmur, to be shown where a typed one has a fault too many. The
//! figures are made up.

/// A word, and a line with it. What stands in braces is shown within its line.
pub const SAMPLES: &[(&str, &str)] = &[
    ("job", "job \"14 High Street\" number=\"1\""),
    ("rules", "rules \"england\""),
    ("cupboard", "cupboard width=1100 depth=850 height=2350 { wall \"right\" outside=#true }"),
    ("dwelling", "dwelling bedrooms=3 bathrooms=1 floor-area=90"),
    ("main", "main static=3.5 dynamic=2.5 at=22"),
    ("cylinder", "cylinder litres=210 heated=\"indirect\" { coil kw=20 }"),
    ("boiler", "boiler kw=24 flow=70 return=50 place=\"kitchen\""),
    ("heat-pump", "heat-pump kw=8 flow=50 return=45"),
    ("uncontrolled", "uncontrolled \"stove\" kw=8"),
    ("zone", "zone \"upstairs\" kw=6 radiators=5"),
    ("outlets", "outlets { bath; shower; basin 2; kitchen-sink; wc }"),
    ("discharge", "discharge wall=\"right\" length=3 elbows=2 to=\"gully\""),
    ("secondary-return", "secondary-return length=18 size=15 lagging=25"),
    ("controls", "controls { programmer channels=3 }"),
    ("building", "building \"A\" floors=4 flats-a-floor=2 { flat { cylinder litres=150 } }"),
    ("part", "part \"cold tee\" \"tee\""),
    ("unit", "unit \"store set\" \"inlet group\""),
    ("run", "run \"cold feed\" \"stop valve\" \"strainer\" size=22"),
    ("complete", "complete #true"),
    ("assumption", "assumption \"A1\" what=\"cylinder diameter\" value=\"550\" unit=\"mm\""),
    ("door", "cupboard width=1100 { door clear-width=762 clear-height=1981 }"),
    ("wall", "cupboard width=1100 { wall \"right\" outside=#true }"),
    ("floor", "cupboard width=1100 { floor \"timber\" }"),
    (
        "obstacle",
        "cupboard width=1100 { obstacle \"shelf\" x=0 y=0 z=1800 width=400 depth=300 height=40 }",
    ),
    ("limit", "rules \"england\" { limit \"discharge fall\" 200 reason=\"by the surveyor\" }"),
    ("coil", "cylinder litres=210 heated=\"indirect\" { coil kw=20 }"),
    ("solar-coil", "cylinder litres=250 heated=\"solar\" { coil kw=20; solar-coil kw=6 }"),
    ("port", "cylinder litres=210 { port \"hot\" height=1530 }"),
    ("tail", "boiler kw=24 { tail \"flow\" x=200 y=60 size=28 }"),
    ("declares", "boiler kw=24 { declares \"internal pump\" }"),
    ("leg", "secondary-return length=18 { leg \"flat\" length=6 size=15 }"),
    ("flat", "building \"A\" floors=4 flats-a-floor=2 { flat { cylinder litres=150 } }"),
    ("stretch", "run \"cold feed\" \"stop valve\" \"strainer\" { stretch 1 size=22 }"),
    ("address", "job \"14 High Street\" { address \"14 High Street, Anytown\" }"),
    ("client", "job \"14 High Street\" { client \"A. Client\" }"),
    (
        "revision",
        "job \"14 High Street\" { revision \"A\" date=\"2026-11-25\" note=\"first issue\" }",
    ),
    ("note", "job \"14 High Street\" { note \"key at the shop\" }"),
    ("softener", "softener place=\"garage\""),
    ("scale-reducer", "scale-reducer"),
    ("hard-tap", "hard-tap"),
    ("booster", "booster place=\"garage\""),
    ("accumulator", "accumulator litres=200 charge=2 place=\"garage\""),
    ("break-tank", "break-tank litres=500 place=\"garage\""),
    ("header", "header"),
    ("buffer", "buffer litres=50"),
    ("volumiser", "volumiser litres=30"),
    ("solar", "solar area=4"),
    ("solar-station", "solar-station"),
    ("vessel", "vessel \"heating\" litres=12 charge=1"),
    ("reducing-valve", "reducing-valve setting=3"),
    ("expansion-relief", "expansion-relief setting=6"),
    ("temperature-relief", "temperature-relief setting=7"),
    ("safety-valve", "safety-valve setting=3"),
    ("blending-valve", "blending-valve setting=46"),
    ("boost-diverter", "boost-diverter"),
    ("filter", "filter"),
    ("strainer", "strainer"),
    ("filling-loop", "filling-loop"),
    ("bypass-valve", "bypass-valve"),
    ("inlet-group", "inlet-group"),
    ("tundish", "tundish"),
    ("diverter", "diverter"),
    ("mid-position-valve", "mid-position-valve"),
    ("zone-valve", "zone-valve"),
    ("pump", "pump"),
    ("secondary-pump", "secondary-pump"),
    ("frost", "frost"),
    ("discharge-alarm", "discharge-alarm"),
    ("immersion", "cylinder litres=210 heated=\"electric\" { immersion kw=3 }"),
    ("air-separator", "air-separator"),
    ("drain", "drain"),
];

/// Words on a line that ask for another sample than its first word: the word of the sample, what is
/// met, the line.
const BY_WHAT_IS_MEANT: &[(&str, &[&str], &str)] = &[
    ("zone", &["underfloor", "ufh", "floor heating"], "zone \"ground floor\" kw=5 underfloor=6"),
    (
        "cylinder",
        &["electric", "direct", "immersion"],
        "cylinder litres=210 heated=\"electric\" { immersion kw=3 }",
    ),
    ("boiler", &["combi"], "boiler kw=30 kind=\"combi\" flow=70 return=50 place=\"kitchen\""),
];

/// The right line for a typed one, by its word and by what else stands on it.
pub fn sample_for(word: &str, typed: &str) -> Option<&'static str> {
    let line = sample(word)?;
    let typed = typed.to_lowercase();
    let meant = BY_WHAT_IS_MEANT.iter().find(|(word, met, _)| {
        line.split(' ').next() == Some(*word)
            && met.iter().any(|m| typed.contains(m) && !typed.contains(&format!("in{m}")))
    });
    Some(meant.map_or(line, |(.., line)| *line))
}

/// The right line for a word, as typed or nearly so.
pub fn sample(word: &str) -> Option<&'static str> {
    let word = word.to_lowercase().replace('_', "-");
    let other = super::words::OTHER_WORDS.iter().find(|(other, _)| *other == word);
    let word = other.map_or(word.as_str(), |(_, real)| real);
    let line = |word: &str| SAMPLES.iter().find(|(w, _)| *w == word).map(|(_, line)| *line);
    let taps = ["bath", "shower", "basin", "sink", "kitchen-sink", "wc", "toilet"];
    let word = if taps.contains(&word) { "outlets" } else { word };
    line(word).or_else(|| line(super::nearest(word, SAMPLES.iter().map(|(w, _)| *w))?))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A sample that had a fault of its own would send people round in circles.
    #[test]
    fn every_sample_reads_without_a_murmur() {
        let meant = BY_WHAT_IS_MEANT.iter().map(|(word, _, line)| (word, line));
        for (word, line) in SAMPLES.iter().map(|(word, line)| (word, line)).chain(meant) {
            let said = crate::describe::read(line).diagnostics;
            assert_eq!(said, [], "{word}: {line}");
        }
    }

    #[test]
    fn every_word_of_the_language_has_a_sample() {
        for word in crate::describe::decode::language() {
            assert!(SAMPLES.iter().any(|(w, _)| *w == word), "no sample for {word}");
        }
    }

    #[test]
    fn a_misspelt_word_finds_its_sample() {
        assert!(sample("Cyclinder").is_some_and(|s| s.starts_with("cylinder ")));
        assert!(sample("mains").is_some_and(|s| s.starts_with("main ")));
        assert_eq!(sample("please"), None);
    }
}
