//! A sheet as PNG. In: the scene and dots per inch. Out: bytes, the same on every machine.

use resvg::tiny_skia::{Pixmap, Transform};

use super::{RenderError, tree};
use crate::draw::scene::Sheet;

const MM_PER_INCH: f64 = 25.4;
/// About 1.6 GB of dots; nobody prints more.
const MOST_DOTS: u64 = 400_000_000;

/// The sheet as a PNG, with its resolution noted in the file.
///
/// # Errors
/// Where the picture would be too large, or the SVG can't be read back.
pub fn png(sheet: &Sheet, dpi: f64) -> Result<Vec<u8>, RenderError> {
    let tree = tree(sheet)?;
    let dots = |mm: f64| (mm / MM_PER_INCH * dpi).round().clamp(1.0, 1e6) as u32;
    let (width, height) = (dots(sheet.paper.w), dots(sheet.paper.h));
    if u64::from(width) * u64::from(height) > MOST_DOTS {
        return Err(RenderError::TooLarge { width, height });
    }
    let mut pixels = Pixmap::new(width, height).ok_or(RenderError::TooLarge { width, height })?;
    let size = tree.size();
    let transform =
        Transform::from_scale(width as f32 / size.width(), height as f32 / size.height());
    resvg::render(&tree, transform, &mut pixels.as_mut());
    let bytes = pixels.encode_png().map_err(|e| RenderError::Tree(e.to_string()))?;
    Ok(with_resolution(bytes, dpi))
}

/// Puts a `pHYs` chunk (dots per metre) before the first `IDAT`.
fn with_resolution(png: Vec<u8>, dpi: f64) -> Vec<u8> {
    // Signature 8 bytes, IHDR 25 bytes.
    const AFTER_HEADER: usize = 33;
    let per_metre = (dpi / MM_PER_INCH * 1000.0).round() as u32;
    let mut chunk = b"pHYs".to_vec();
    chunk.extend(per_metre.to_be_bytes());
    chunk.extend(per_metre.to_be_bytes());
    chunk.push(1);
    let mut out = png[..AFTER_HEADER].to_vec();
    out.extend(9u32.to_be_bytes());
    out.extend(&chunk);
    out.extend(crc(&chunk).to_be_bytes());
    out.extend(&png[AFTER_HEADER..]);
    out
}

/// CRC-32 of a PNG chunk (ISO 3309).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |c, _| {
            if c & 1 == 1 { 0xedb8_8320 ^ (c >> 1) } else { c >> 1 }
        })
    })
}

#[cfg(test)]
mod tests {
    use super::crc;

    /// The check value of CRC-32: "123456789" → cbf43926.
    #[test]
    fn crc_of_the_check_string() {
        assert_eq!(crc(b"123456789"), 0xcbf4_3926);
    }
}
