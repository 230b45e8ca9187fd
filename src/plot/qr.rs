//! QR codes (ISO/IEC 18004) as SVG: one path, black on white whatever the page's colours are.
use fast_qr::{ECL, QRBuilder};
use std::fmt::Write;

/// Light modules that must surround a code so that it is found (ISO/IEC 18004, 6.3.8).
const QUIET: usize = 4;

/// Draws the code of a text, one unit for each module; nothing where the text is too long for any code. Level Q, so that about a quarter of
/// the code may be lost: a tag is handled with oily gloves.
pub fn svg(text: &str) -> Option<String> {
    let code = QRBuilder::new(text).ecl(ECL::Q).build().ok()?;
    let side = code.size + 2 * QUIET;
    let mut dark = String::new();
    for y in 0..code.size {
        let row: Vec<bool> = code[y].iter().map(|m| m.value()).collect();
        let mut x = 0;
        for run in row.chunk_by(|a, b| a == b) {
            if run[0] {
                // Writing into a String does not fail.
                let _ = write!(
                    dark,
                    "M{} {}h{}v1h-{}z",
                    x + QUIET,
                    y + QUIET,
                    run.len(),
                    run.len()
                );
            }
            x += run.len();
        }
    }
    let title = text
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('"', "&quot;");
    Some(format!(
        "<svg class=\"qr\" viewBox=\"0 0 {side} {side}\" role=\"img\" aria-label=\"Code that leads to {title}\" shape-rendering=\"crispEdges\">\
         <path fill=\"#fff\" d=\"M0 0h{side}v{side}h-{side}z\"/><path fill=\"#000\" d=\"{dark}\"/></svg>"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Paints the path into a grid of its own and lets a decoder read it that shares nothing with what drew it.
    fn read_back(svg: &str) -> String {
        let side: usize = svg
            .split("viewBox=\"0 0 ")
            .nth(1)
            .and_then(|s| s.split(' ').next())
            .and_then(|s| s.parse().ok())
            .expect("a side");
        let path = svg
            .split("#000\" d=\"")
            .nth(1)
            .and_then(|s| s.split('"').next())
            .expect("a path");
        let mut dark = vec![false; side * side];
        for run in path.split('z').filter(|r| !r.is_empty()) {
            let numbers: Vec<usize> = run
                .split(|c: char| !c.is_ascii_digit())
                .filter_map(|n| n.parse().ok())
                .collect();
            let &[x, y, long, high, back] = &numbers[..] else {
                panic!("{run}")
            };
            assert_eq!((high, back), (1, long));
            dark[y * side + x..y * side + x + long].fill(true);
        }
        const SCALE: usize = 4;
        let mut image =
            rqrr::PreparedImage::prepare_from_bitmap(side * SCALE, side * SCALE, |x, y| {
                dark[y / SCALE * side + x / SCALE]
            });
        let grids = image.detect_grids();
        assert_eq!(grids.len(), 1);
        grids[0].decode().expect("readable").1
    }

    #[test]
    fn a_code_is_read_back_by_another_decoder() {
        for text in [
            "http://192.168.1.5:8470/parts/12",
            "https://shop.test:8470/shop/cylinders?id=01890a5d-ac96-774b-bcce-b302099a8057",
            "A",
            &"long ".repeat(60),
        ] {
            assert_eq!(read_back(&svg(text).expect("a code")), text);
        }
        assert_eq!(svg(&"x".repeat(3000)), None);
        assert!(
            svg("http://x/?a=1&b=\"<")
                .expect("a code")
                .contains("http://x/?a=1&amp;b=&quot;&lt;")
        );
    }
}
