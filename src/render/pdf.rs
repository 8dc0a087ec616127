//! Sheets as one PDF. In: scenes in reading order. Out: bytes: text stays text, one bookmark a
//! sheet, no clock and no chance in the file.

use krilla::destination::XyzDestination;
use krilla::geom::{Point, Size};
use krilla::metadata::Metadata;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::{Document, SerializeSettings};
use krilla_svg::{SurfaceExt, SvgSettings};

use super::{RenderError, tree};
use crate::draw::scene::Sheet;

const POINTS_PER_MM: f64 = 72.0 / 25.4;

/// All sheets in one PDF. `digest` names the content, so that the same content has the same
/// document id.
///
/// # Errors
/// Where a sheet can't be read back or the writer refuses the document.
pub fn pdf(sheets: &[Sheet], title: &str, digest: &str) -> Result<Vec<u8>, RenderError> {
    let refused = |why: String| RenderError::Pdf(why);
    let mut document = Document::new_with(SerializeSettings::default());
    let mut outline = Outline::new();
    for (i, sheet) in sheets.iter().enumerate() {
        let tree = tree(sheet)?;
        let (w, h) = (points(sheet.paper.w), points(sheet.paper.h));
        let settings = PageSettings::from_wh(w, h)
            .ok_or_else(|| refused(format!("sheet {} has no size", sheet.key)))?;
        let size = Size::from_wh(w, h)
            .ok_or_else(|| refused(format!("sheet {} has no size", sheet.key)))?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        surface
            .draw_svg(&tree, size, SvgSettings::default())
            .ok_or_else(|| refused(format!("sheet {} could not be drawn", sheet.key)))?;
        surface.finish();
        page.finish();
        let top = XyzDestination::new(i, Point::from_xy(0.0, 0.0));
        outline.push_child(OutlineNode::new(sheet.title.clone(), top));
    }
    document.set_outline(outline);
    document.set_metadata(
        Metadata::new()
            .title(title.to_owned())
            .creator("firstfix".to_owned())
            .language("en-GB".to_owned())
            .document_id(digest.to_owned()),
    );
    document.finish().map_err(|e| refused(format!("{e:?}")))
}

fn points(mm: f64) -> f32 {
    (mm * POINTS_PER_MM) as f32
}
