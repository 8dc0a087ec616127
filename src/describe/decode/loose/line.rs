//! One line's arguments, read from the left: what a figure, a word or a pair of both can mean there.
//! In: the tokens and the properties of the node. Out: each with the property it was read as.

use super::figures::{figure, in_metres, is_number, plainly, side_of, words_of};
use super::words::{
    GRANTED, JOINING, LOOSE, MAIN_FIGURE, NEVER_LOOSE, ROOMS, WORDED, WORDS_OF_A_NAME,
};
use crate::catalogue::tubes;
use crate::describe::decode::discharge;
use crate::describe::decode::fields::{Field, Fields, Holds};
use crate::describe::decode::hints::bare;
use crate::describe::decode::value::{in_words, yes_no};
use crate::describe::nearest::as_meant;
use crate::describe::quantity;
use crate::describe::tree::{Node, Scalar, Value};
use crate::model::Span;

/// Nothing is placed so near to the left wall, mm; so many of one thing may stand in a cupboard.
const MOST_OF_ONE: f64 = 10.0;

/// Something loose, and what it was read as.
pub struct Read {
    pub span: Span,
    pub typed: String,
    pub key: &'static str,
    pub value: Value,
    pub meant: String,
}

impl Read {
    pub fn of(tokens: &[Value], field: Field, value: Value) -> Read {
        let text = value.typed.trim_matches('"');
        let meant = match (field.holds, &value.scalar) {
            (Holds::Measure(_), Scalar::Text(t)) => plainly(t, field),
            (Holds::Count, Scalar::Text(t)) => {
                in_words(t).map_or(text.to_owned(), |n| n.to_string())
            }
            (_, Scalar::Text(t)) => format!("\"{t}\""),
            _ => text.to_owned(),
        };
        let typed: Vec<&str> = tokens.iter().map(|t| t.typed.trim_matches('"')).collect();
        Read {
            span: tokens[0].span.start..tokens[tokens.len() - 1].span.end,
            typed: typed.join(" "),
            key: field.key,
            value,
            meant: format!("{}={meant}", field.key),
        }
    }
}

/// A node's arguments while they are read.
pub struct Line<'a> {
    pub node: &'a Node,
    pub fields: &'a Fields,
    pub read: Vec<Read>,
}

impl Line<'_> {
    pub fn is_given(&self, key: &str) -> bool {
        self.node.properties.iter().any(|p| self.fields.is(&p.key, key))
            || self.read.iter().any(|r| r.key == key)
    }

    /// The field that a word means, of those that nothing has filled yet.
    pub fn open(&self, word: &str) -> Option<Field> {
        let found = self.fields.find(word).or_else(|| self.fields.find(&format!("{word}s")));
        found.filter(|f| !self.is_given(f.key))
    }

    /// How many of the tokens were read; nothing of them where they say nothing.
    pub fn take(&self, tokens: &[Value]) -> Option<(usize, Option<Read>)> {
        if tokens[0].typed == "," {
            return Some((1, None));
        }
        let word = bare(&tokens[0]);
        if let Some(word) = &word {
            let of = |all: &[&str]| all.contains(&word.as_str());
            let about = |(name, _): &&(&str, &[&str])| *name == self.node.name;
            if GRANTED.iter().find(about).is_some_and(|(_, all)| of(all)) {
                return Some((1, None));
            }
            // `direct electric`: the same said twice.
            let kind = LOOSE.iter().find(|(name, ..)| *name == self.node.name);
            let again = |(_, words, key): &(&str, &[&str], &str)| {
                of(words) && self.read.iter().any(|r| r.key == *key)
            };
            if self.node.name == "cylinder" && kind.is_some_and(again) {
                return Some((1, None));
            }
        }
        let found = self
            .sizes(tokens)
            .or_else(|| self.after_its_word(tokens))
            .or_else(|| self.before_its_word(tokens))
            .or_else(|| self.side(tokens))
            .or_else(|| self.end(tokens))
            .or_else(|| self.pair(tokens))
            .or_else(|| self.kind(tokens))
            .or_else(|| self.measure(tokens))
            .or_else(|| self.room(tokens))
            .or_else(|| self.material(tokens));
        if let Some((n, read)) = found {
            return Some((n, Some(read)));
        }
        let joins = word.is_some_and(|w| JOINING.contains(&w.as_str()));
        let nameless =
            ["discharge", "main", "cupboard", "dwelling", "door"].contains(&&*self.node.name);
        let may = nameless || (tokens.len() > 1 && !self.read.is_empty());
        (joins && may).then_some((1, None))
    }

    fn reads(
        &self,
        n: usize,
        tokens: &[Value],
        field: Field,
        value: Value,
    ) -> Option<(usize, Read)> {
        Some((n, Read::of(&tokens[..n], field, in_metres(&self.node.name, field, value))))
    }

    /// `boiler 30kw kitchen`: a room is where it stands, no name.
    fn room(&self, tokens: &[Value]) -> Option<(usize, Read)> {
        let word = bare(&tokens[0])?;
        let sources = ["boiler", "heat-pump", "uncontrolled", "softener"];
        let field = self.open("place").filter(|_| sources.contains(&self.node.name.as_str()))?;
        ROOMS.contains(&word.as_str()).then(|| self.reads(1, tokens, field, tokens[0].clone()))?
    }

    /// `25mm mdpe`: what a pipe is made of.
    fn material(&self, tokens: &[Value]) -> Option<(usize, Read)> {
        let word = bare(&tokens[0])?;
        let field = self.open("material").filter(|f| f.key == "material")?;
        let known = tubes().iter().any(|t| t.material.eq_ignore_ascii_case(&word));
        known.then(|| self.reads(1, tokens, field, tokens[0].clone()))?
    }

    /// `1100 x 850 x 2350` of a cupboard: width, depth and height, in the order of this language.
    fn sizes(&self, tokens: &[Value]) -> Option<(usize, Read)> {
        const ORDER: [&str; 3] = ["width", "depth", "height"];
        if self.node.name != "cupboard" {
            return None;
        }
        let end = tokens.iter().position(|t| t.typed == ",").unwrap_or(tokens.len());
        let tokens = &tokens[..end];
        let read = self.read.iter().filter(|r| ORDER.contains(&r.key)).count();
        let plain = |t: &Value| matches!(t.scalar, Scalar::Number(_)) || figure(t, None).is_some();
        let rest = tokens.iter().filter(|t| plain(t)).count();
        let worded = tokens.iter().filter_map(bare).any(|w| self.fields.find(&w).is_some());
        let times = |t: &Value| bare(t).is_some_and(|w| ["x", "×", "by"].contains(&w.as_str()));
        let two = read + rest == 2 && (read > 0 || tokens.iter().any(times));
        if worded || !(two || read + rest == ORDER.len()) || !plain(tokens.first()?) {
            return None;
        }
        let field = self.open(ORDER[read])?;
        let value = figure(&tokens[0], tokens.get(1));
        let n = if value.as_ref().is_some_and(|v| v.span.end > tokens[0].span.end) { 2 } else { 1 };
        let value = value.unwrap_or_else(|| tokens[0].clone());
        self.reads(n, tokens, field, value)
    }

    /// `flow 70`, `length 3 m`, `wall right`, `to gully`, `in the kitchen`.
    fn after_its_word(&self, tokens: &[Value]) -> Option<(usize, Read)> {
        let word = bare(&tokens[0])?;
        let next = tokens.get(1).unwrap_or(&tokens[0]);
        if word == "in" || word == "to" {
            let field = self.open(if word == "in" { "place" } else { "to" })?;
            let the = usize::from(bare(next).is_some_and(|w| w == "the" || w == "a"));
            if word == "to" {
                let (n, mut read) = self.end(tokens.get(1 + the..)?)?;
                read.span.start = tokens[0].span.start;
                read.typed = format!("to {}", read.typed);
                return Some((n + 1 + the, read));
            }
            let place = tokens.get(1 + the).filter(|t| matches!(t.scalar, Scalar::Text(_)))?;
            return self.reads(2 + the, tokens, field, place.clone());
        }
        // `immersion 3kw x 2` is two of them, `x 300` a place.
        let times = |v: &Value| matches!(v.scalar, Scalar::Number(n) if n < MOST_OF_ONE);
        if word == "x" && times(next) {
            return None;
        }
        let field = self.open(&word)?;
        match field.holds {
            Holds::Side => {
                side_of(next)?;
                self.reads(2, tokens, field, next.clone())
            }
            Holds::Any if !is_number(next) => None,
            Holds::Count | Holds::Number | Holds::Measure(_) | Holds::Tube | Holds::Any => {
                let fits = |v: &Value| match field.holds {
                    Holds::Measure(unit) => quantity::read(&v.typed, unit).is_ok(),
                    holds => holds == Holds::Tube,
                };
                // `rads 6 kw`: a figure of something else is no count.
                if let Some(value) = figure(next, tokens.get(2)) {
                    let n = if value.span.end > next.span.end { 3 } else { 2 };
                    return fits(&value).then(|| self.reads(n, tokens, field, value))?;
                }
                is_number(next).then(|| self.reads(2, tokens, field, next.clone()))?
            }
            Holds::Text if WORDED.contains(&field.key) => {
                // `heated by the boiler`
                let joins = |t: &&Value| {
                    bare(t).is_some_and(|w| ["by", "from", "off", "the", "a", "in"].contains(&&*w))
                };
                let skipped = tokens[1..].iter().take_while(joins).count();
                let value = tokens.get(1 + skipped)?;
                words_of(value)?;
                self.reads(2 + skipped, tokens, field, value.clone())
            }
            Holds::Flag => {
                let said = words_of(next).and_then(|w| yes_no(&w));
                let scalar = Scalar::Flag(said.unwrap_or(true));
                let typed = format!("#{}", said.unwrap_or(true));
                let n = if said.is_some() { 2 } else { 1 };
                self.reads(n, tokens, field, Value { scalar, typed, ..next.clone() })
            }
            _ => None,
        }
    }

    /// `5 rads`, `two elbows`, `80 cm deep`, `3 m long`.
    fn before_its_word(&self, tokens: &[Value]) -> Option<(usize, Read)> {
        let first = &tokens[0];
        let value = figure(first, tokens.get(1));
        let n = if value.as_ref().is_some_and(|v| v.span.end > first.span.end) { 2 } else { 1 };
        if value.is_none() && !is_number(first) {
            return None;
        }
        let word = bare(tokens.get(n)?)?;
        let field = self.open(&word)?;
        let fits = |value: &Option<Value>| match (value, field.holds) {
            (Some(v), Holds::Measure(unit)) => quantity::read(&v.typed, unit).is_ok(),
            (None, Holds::Measure(_) | Holds::Count | Holds::Number) => true,
            _ => false,
        };
        // `3 bar dynamic 2.5`: the word belongs to the figure after it, which it fits too.
        let after = tokens.get(n + 1).filter(|t| is_number(t) || figure(t, None).is_some());
        let fits_after = after.is_some_and(|t| fits(&figure(t, tokens.get(n + 2))));
        let counts = self.node.name == "dwelling";
        if fits_after && !counts && !self.ends_with_word(&tokens[n..]) {
            return None;
        }
        fits(&value)
            .then(|| self.reads(n + 1, tokens, field, value.unwrap_or_else(|| first.clone())))?
    }

    /// Whether words and figures by turns end with a word: then each word follows its figure. The
    /// first token is a word.
    fn ends_with_word(&self, tokens: &[Value]) -> bool {
        let mut at = 0;
        loop {
            let Some(next) = tokens.get(at + 1) else { return true };
            let value = figure(next, tokens.get(at + 2));
            // The figure behind a word may be none of its kind.
            let field = bare(&tokens[at]).and_then(|w| self.open(&w));
            if let (Some(v), Some(Holds::Measure(unit))) = (&value, field.map(|f| f.holds))
                && quantity::read(&v.typed, unit).is_err()
            {
                return true;
            }
            if value.is_none() && !is_number(next) {
                return true;
            }
            let apart = value.is_some_and(|v| v.span.end > next.span.end);
            at += if apart { 3 } else { 2 };
            if tokens.get(at).and_then(bare).is_none_or(|w| self.open(&w).is_none()) {
                return false;
            }
        }
    }

    /// `right wall`, `left`.
    fn side(&self, tokens: &[Value]) -> Option<(usize, Read)> {
        side_of(&tokens[0])?;
        bare(&tokens[0])?;
        let field = self.fields.0.iter().find(|f| f.holds == Holds::Side).copied()?;
        let field = Some(field).filter(|f| !self.is_given(f.key) && f.key == "wall")?;
        let wall = tokens.get(1).and_then(bare).is_some_and(|w| w == "wall" || w == "side");
        self.reads(1 + usize::from(wall), tokens, field, tokens[0].clone())
    }

    /// `gully`, `hopper head`: where a discharge ends.
    fn end(&self, tokens: &[Value]) -> Option<(usize, Read)> {
        if self.node.name != "discharge" {
            return None;
        }
        let field = self.open("to")?;
        for n in (1..=WORDS_OF_A_NAME.min(tokens.len())).rev() {
            let words: Option<Vec<String>> = tokens[..n].iter().map(words_of).collect();
            let Some(mut text) = words.map(|w| w.join(" ")) else { continue };
            // `gulley`
            let material = tubes().iter().any(|t| t.material.eq_ignore_ascii_case(&text));
            if n == 1
                && !material
                && let Some(near) = as_meant(&text, discharge::ends())
            {
                near.clone_into(&mut text);
            }
            if discharge::termination(&text).is_some() {
                let scalar = Scalar::Text(text);
                return self.reads(n, tokens, field, Value { scalar, ..tokens[0].clone() });
            }
        }
        None
    }

    /// `70/50`: flow and return.
    fn pair(&self, tokens: &[Value]) -> Option<(usize, Read)> {
        let Scalar::Text(text) = &tokens[0].scalar else { return None };
        let (flow, ret) = text.split_once('/')?;
        let (flow, ret): (f64, f64) = (flow.trim().parse().ok()?, ret.trim().parse().ok()?);
        let (warm, back) = (self.open("flow")?, self.open("return")?);
        if warm.holds != Holds::Measure("°C")
            || back.holds != warm.holds
            || flow <= ret
            || ret < 20.0
        {
            return None;
        }
        let value =
            |n: f64| Value { scalar: Scalar::Number(n), typed: n.to_string(), ..tokens[0].clone() };
        let mut read = Read::of(&tokens[..1], warm, value(flow));
        read.meant = format!("flow={flow} return={ret}");
        Some((1, read))
    }

    /// `indirect`, `combi`: a word of a short list.
    fn kind(&self, tokens: &[Value]) -> Option<(usize, Read)> {
        let (_, words, key) = LOOSE.iter().find(|(about, ..)| *about == self.node.name)?;
        let joined = |n: usize| -> Option<String> {
            let parts: Option<Vec<String>> = tokens.get(..n)?.iter().map(words_of).collect();
            Some(parts?.join("-").to_lowercase().replace(' ', "-"))
        };
        let known = |n: &usize| joined(*n).is_some_and(|w| words.contains(&w.as_str()));
        let n = [2, 1].into_iter().find(known)?;
        let word = joined(n)?;
        // In quotes it may be a name: "radiators" is a zone's as well as what is in it.
        let may_be_name = self.node.name == "zone" && bare(&tokens[0]).is_none();
        if may_be_name || self.is_given(key) {
            return None;
        }
        let field = self.fields.find(key)?;
        let said = Scalar::Text(word.replace('-', " "));
        self.reads(n, tokens, field, Value { scalar: said, ..tokens[0].clone() })
    }

    /// `24kW`, `170 l`: a figure that one property of the line could be.
    fn measure(&self, tokens: &[Value]) -> Option<(usize, Read)> {
        let value = figure(&tokens[0], tokens.get(1))?;
        let n = if value.span.end > tokens[0].span.end { 2 } else { 1 };
        let text = &value.typed.trim_matches('"').to_owned();
        let main = |f: &&Field| MAIN_FIGURE.contains(&(self.node.name.as_str(), f.key));
        let candidates = self.candidates(text);
        let open: Vec<Field> =
            candidates.iter().filter(|f| !self.is_given(f.key)).copied().collect();
        // A diameter of tube on a line that is about metres, or about no length at all.
        let metres = candidates
            .iter()
            .find(main)
            .map_or(self.node.name == "main", |f| f.holds != Holds::Measure("mm"));
        if let (true, Some(mm)) = (metres, text.strip_suffix("mm").map(str::trim))
            && tubes().iter().any(|t| t.size.rsplit(' ').next() == Some(mm))
            && let Some(size) = self.open("size")
        {
            let scalar = Scalar::Text(mm.to_owned());
            return self.reads(n, tokens, size, Value { scalar, ..value });
        }
        let one = open.iter().find(main).copied();
        let one = one.or_else(|| open.first().copied().filter(|_| open.len() == 1))?;
        self.reads(n, tokens, one, value)
    }

    pub fn candidates(&self, text: &str) -> Vec<Field> {
        let measures =
            |f: &&Field| matches!(f.holds, Holds::Measure(u) if quantity::read(text, u).is_ok());
        let may = |f: &&Field| !NEVER_LOOSE.contains(&f.key);
        self.fields.0.iter().filter(may).filter(measures).copied().collect()
    }
}
