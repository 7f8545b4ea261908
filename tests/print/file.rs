//! A PDF page read back by a reader that shares no code with the writer: filled areas and lines of text in millimetres.

use hayro_syntax::Pdf;
use hayro_syntax::content::UntypedIter;
use hayro_syntax::object::Object;

#[derive(Debug, Clone, PartialEq)]
pub(super) enum Fill {
    /// DeviceGray.
    Grey(f64),
    /// A named colour space and its three numbers.
    Named(String, [f64; 3]),
}

/// A rectangle in millimetres from the page's top left corner: x, y, width, height.
pub(super) type Box4 = [f64; 4];

#[derive(Debug, Default)]
pub(super) struct Page {
    /// In points.
    pub media: [f64; 2],
    /// Areas in painting order.
    pub areas: Vec<(Fill, Vec<Box4>)>,
    /// Triangles and other outlines, as their corners.
    pub outlines: Vec<Vec<[f64; 2]>>,
    /// Text, its left end and baseline, its size in points.
    pub lines: Vec<(String, [f64; 2], f64)>,
}

/// Interprets the operators in use; any other is a failure.
pub(super) fn read(pdf: &Pdf) -> Page {
    let sheet = &pdf.pages()[0];
    let media = sheet.media_box();
    let mut page = Page { media: [media.x1 - media.x0, media.y1 - media.y0], ..Page::default() };
    let height = page.media[1];
    let mut matrix = [1.0, 0.0, 0.0, 1.0, 0.0, 0.0];
    let mm = |points: f64| points * 25.4 / 72.0;
    let (mut fill, mut space) = (Fill::Grey(0.0), String::new());
    let (mut boxes, mut path, mut pen, mut size) = (Vec::new(), Vec::new(), [0.0; 2], 0.0);
    let mut operations = UntypedIter::new(sheet.page_stream().expect("a content stream"));
    while let Some(step) = operations.next() {
        let (mut n, mut name, mut text) = (Vec::new(), String::new(), Vec::new());
        for operand in step.operands() {
            match operand {
                Object::Number(v) => n.push(v.as_f64()),
                Object::Name(v) => name = v.as_str().to_string(),
                Object::String(v) => text = v.as_bytes().to_vec(),
                other => panic!("operand {other:?}"),
            }
        }
        let point = |x: f64, y: f64| {
            let [a, b, c, d, e, f] = matrix;
            [mm(a * x + c * y + e), mm(height - (b * x + d * y + f))]
        };
        match std::str::from_utf8(step.operator).unwrap() {
            "q" | "Q" | "ri" | "BT" | "ET" | "h" => {}
            "cm" => {
                assert_eq!(matrix, [1.0, 0.0, 0.0, 1.0, 0.0, 0.0], "one transform");
                matrix = n.try_into().unwrap();
            }
            "g" => fill = Fill::Grey(n[0]),
            "cs" => space = name,
            "sc" | "scn" => fill = Fill::Named(space.clone(), n.try_into().unwrap()),
            "re" => {
                let ([x, foot], [right, top]) = (point(n[0], n[1]), point(n[0] + n[2], n[1] + n[3]));
                boxes.push([x, top, right - x, foot - top]);
            }
            "m" | "l" => path.push(point(n[0], n[1])),
            "f" if path.is_empty() => page.areas.push((fill.clone(), std::mem::take(&mut boxes))),
            "f" => page.outlines.push(std::mem::take(&mut path)),
            "Tf" => size = n[0] * matrix[3],
            "Td" => pen = point(n[0], n[1]),
            "Tj" => page.lines.push((text.iter().map(|&b| b as char).collect(), pen, size)),
            other => panic!("operator {other}"),
        }
    }
    page
}
