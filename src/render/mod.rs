//! Sheets → bytes. In: [`crate::draw::scene::Sheet`]. Out: SVG text, PNG and PDF bytes, all from
//! the same SVG and the same embedded typeface. No plumbing is known here.

mod number;
mod pdf;
mod png;
mod svg;

use std::sync::{Arc, LazyLock};

use usvg::fontdb::Database;

use crate::draw::scene::Sheet;
use crate::lettering::{BOLD, FAMILY, REGULAR};

pub use number::number;
pub use pdf::pdf;
pub use png::png;
pub use svg::{Typeface, svg};

/// What went wrong in making a picture of a sheet.
#[derive(Debug)]
pub enum RenderError {
    /// The SVG could not be read back; a fault of the program.
    Tree(String),
    /// The picture would be too large to hold.
    TooLarge { width: u32, height: u32 },
    /// The PDF writer refused the document.
    Pdf(String),
}

impl std::fmt::Display for RenderError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            RenderError::Tree(why) => write!(f, "the sheet could not be read back: {why}"),
            RenderError::TooLarge { width, height } => {
                write!(f, "a picture of {width} × {height} dots is too large; lower --dpi")
            }
            RenderError::Pdf(why) => write!(f, "the PDF could not be written: {why}"),
        }
    }
}

impl std::error::Error for RenderError {}

/// The sheet as usvg sees it, with no font but our own.
fn tree(sheet: &Sheet) -> Result<usvg::Tree, RenderError> {
    static FONTS: LazyLock<Arc<Database>> = LazyLock::new(|| {
        let mut fonts = Database::new();
        fonts.load_font_data(REGULAR.to_vec());
        fonts.load_font_data(BOLD.to_vec());
        fonts.set_sans_serif_family(FAMILY);
        Arc::new(fonts)
    });
    let options = usvg::Options {
        font_family: FAMILY.to_owned(),
        fontdb: FONTS.clone(),
        languages: vec!["en".to_owned()],
        ..usvg::Options::default()
    };
    usvg::Tree::from_str(&svg(sheet, Typeface::Named), &options)
        .map_err(|e| RenderError::Tree(e.to_string()))
}
