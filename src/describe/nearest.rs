//! The known word nearest to an unknown one, if any is near enough to have been meant.

/// Edits between two words: insert, delete, replace, swap neighbours.
fn distance(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.chars().collect();
    let b: Vec<char> = b.chars().collect();
    let mut rows = vec![vec![0; b.len() + 1]; a.len() + 1];
    for (i, row) in rows.iter_mut().enumerate() {
        row[0] = i;
    }
    for (j, cell) in rows[0].iter_mut().enumerate() {
        *cell = j;
    }
    for i in 1..=a.len() {
        for j in 1..=b.len() {
            let cost = usize::from(a[i - 1] != b[j - 1]);
            let mut best =
                (rows[i - 1][j] + 1).min(rows[i][j - 1] + 1).min(rows[i - 1][j - 1] + cost);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(rows[i - 2][j - 2] + 1);
            }
            rows[i][j] = best;
        }
    }
    rows[a.len()][b.len()]
}

/// The nearest of the known words: at most a third of its letters wrong, or one holding the other.
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // No word of the trade is longer; a pasted page must not cost seconds.
    if word.is_empty() || word.chars().count() > 60 {
        return None;
    }
    let word = word.to_lowercase();
    let mut best: Option<(usize, &str)> = None;
    for candidate in known {
        let folded = candidate.to_lowercase();
        let d = if folded.replace(['-', ' '], "") == word.replace(['-', ' '], "") {
            0
        } else {
            distance(&word, &folded)
        };
        let limit = (word.chars().count().max(folded.chars().count()) / 3).max(1);
        if d <= limit && best.is_none_or(|(b, _)| d < b) {
            best = Some((d, candidate));
        }
    }
    best.map(|(_, w)| w)
}

/// The one known word that a misspelt one can only mean: a letter wrong, two of a long word, and no
/// other word as near. It is read as such.
pub fn as_meant<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    const SHORTEST: usize = 5;
    const LONG: usize = 8;
    let letters = word.chars().count();
    if !(SHORTEST..=60).contains(&letters) || !word.chars().all(|c| c.is_alphabetic() || c == '-') {
        return None;
    }
    let word = word.to_lowercase();
    let limit = if letters >= LONG { 2 } else { 1 };
    let mut best: Option<(usize, &str)> = None;
    let mut alone = true;
    for candidate in known {
        let d = distance(&word, &candidate.to_lowercase().replace(' ', "-"));
        match best {
            Some((b, w)) if d > b || (d == b && w == candidate) => {}
            Some((b, _)) if d == b => alone = false,
            _ => (best, alone) = (Some((d, candidate)), true),
        }
    }
    best.filter(|(d, _)| *d <= limit && alone).map(|(_, w)| w)
}

/// Quoted, joined with commas, for "expected one of".
pub fn listed<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    words.into_iter().map(|w| format!("`{w}`")).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_of_the_thumb_find_their_word() {
        let known = ["cylinder", "boiler", "kitchen sink", "zone", "outlets"];
        assert_eq!(nearest("cylnider", known), Some("cylinder"));
        assert_eq!(nearest("bioler", known), Some("boiler"));
        assert_eq!(nearest("kitchensink", known), Some("kitchen sink"));
        assert_eq!(nearest("zones", known), Some("zone"));
        assert_eq!(nearest("xyzzy", known), None);
    }

    #[test]
    fn only_what_can_mean_one_thing_is_read_as_it() {
        let known = ["cylinder", "static", "length", "flow", "left wall"];
        assert_eq!(as_meant("cyclinder", known), Some("cylinder"));
        assert_eq!(as_meant("lenght", known), Some("length"));
        assert_eq!(as_meant("flwo", known), None, "too short");
        assert_eq!(as_meant("lenghts", known), None, "two letters of a short word");
        assert_eq!(as_meant("bases", ["basis", "based"]), None, "two words are as near");
    }
}
