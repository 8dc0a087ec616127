//! Numbers as every output prints them: at most three decimals, shortest form, never `-0`, never
//! an exponent. In: a length in mm. Out: its text.

/// Beyond this no sheet reaches; it also keeps the arithmetic exact.
const FAR: f64 = 1e9;

/// The number with at most three decimals. What is not finite prints as 0.
pub fn number(value: f64) -> String {
    if !value.is_finite() {
        return "0".to_owned();
    }
    // Half away from zero, on the decimal the value stands for.
    let thousandths = (value.clamp(-FAR, FAR) * 1000.0).round() as i64;
    let (whole, rest) = (thousandths.abs() / 1000, thousandths.abs() % 1000);
    let sign = if thousandths < 0 { "-" } else { "" };
    if rest == 0 {
        format!("{sign}{whole}")
    } else {
        format!("{sign}{whole}.{rest:03}").trim_end_matches('0').to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::number;

    #[test]
    fn numbers_are_short_and_never_minus_nought() {
        for (value, text) in [
            (0.0, "0"),
            (-0.0, "0"),
            (-0.0004, "0"),
            (0.1 + 0.2, "0.3"),
            (12.3456, "12.346"),
            (-7.5, "-7.5"),
            (420.0, "420"),
            (f64::NAN, "0"),
        ] {
            assert_eq!(number(value), text);
        }
    }
}
