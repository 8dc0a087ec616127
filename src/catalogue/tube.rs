//! Tubes. In: `tubes.toml`. Out: sizes, bores, roughness, expansion, clip spacing by material.

use std::sync::LazyLock;

use serde::Deserialize;

/// One size of tube.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Tube {
    /// "copper", "PB", …
    pub material: String,
    /// What a drawing prints: "22", "PB 15".
    pub size: String,
    /// Outside diameter, mm.
    pub od: f64,
    /// Wall, mm.
    pub wall: f64,
    /// The size a merchant hands over when nothing else is said.
    #[serde(default)]
    pub default: bool,
    /// Absolute roughness, mm.
    pub roughness: f64,
    /// Linear expansion, mm/(m K).
    pub expansion: f64,
    /// Greatest clip spacing, m, along a horizontal and a vertical run.
    pub clip: [f64; 2],
    /// Minimum resistance of one 90-degree elbow as metres of this tube (discharge table for 22
    /// and up; smaller by bore).
    pub elbow: f64,
    pub source: String,
    pub mark: String,
}

impl Tube {
    /// Bore, mm.
    pub fn bore(&self) -> f64 {
        self.od - 2.0 * self.wall
    }

    /// Content, litres a metre.
    pub fn content(&self) -> f64 {
        std::f64::consts::PI * self.bore() * self.bore() / 4000.0
    }

    /// The tube a drawing calls by that designation.
    pub fn called(size: &str) -> Option<&'static Tube> {
        tubes().iter().find(|t| t.size == size)
    }
}

#[derive(Deserialize)]
struct Table {
    tube: Vec<Tube>,
}

/// All tubes, by material, smallest first.
///
/// # Panics
/// Where the embedded table does not parse: a fault of the program, caught by a test.
pub fn tubes() -> &'static [Tube] {
    static TUBES: LazyLock<Vec<Tube>> = LazyLock::new(|| {
        let table: Table = toml::from_str(include_str!("tubes.toml"))
            .unwrap_or_else(|e| panic!("tubes.toml: {e}"));
        table.tube
    });
    &TUBES
}

#[cfg(test)]
mod tests {
    use super::*;

    /// EN 1057: 22 x 0.9 and 35 x 1.2.
    #[test]
    fn bores_and_contents_of_the_common_sizes() {
        let t = Tube::called("22").unwrap();
        assert!((t.bore() - 20.2).abs() < 1e-9);
        assert!((t.content() - 0.3205).abs() < 0.0002);
        let t = Tube::called("35").unwrap();
        assert!((t.bore() - 32.6).abs() < 1e-9);
        assert!((t.content() - 0.8347).abs() < 0.0002);
    }
}
