//! The SVG against the layout.

use super::{cases, detect, markers};
use image::{GrayImage, Luma};
use roxmltree::{Document, Node};
use tintline::faces::print;

fn number(node: &Node, name: &str) -> f64 {
    node.attribute(name).unwrap_or_else(|| panic!("{name} of {node:?}")).parse().unwrap()
}

/// Rectangles of a path made of `M x y h w v h h -w z` pieces.
fn pieces(d: &str) -> Vec<[f64; 4]> {
    d.split_terminator('z')
        .map(|piece| {
            let n: Vec<f64> =
                piece.split(['M', ' ', 'h', 'v']).filter(|s| !s.is_empty()).map(|s| s.parse().unwrap()).collect();
            assert!(n.len() == 5 && n[2] == -n[4], "{piece}");
            [n[0], n[1], n[2], n[3]]
        })
        .collect()
}

#[test]
fn millimetres_colours_and_markers() {
    for (layout, card) in cases() {
        let text = print::svg(&layout, card).unwrap();
        let document = Document::parse(&text).unwrap();
        let root = document.root_element();
        let (w, h) = (layout.width, layout.height);
        assert_eq!(root.attribute("width"), Some(format!("{w}mm").as_str()));
        assert_eq!(root.attribute("height"), Some(format!("{h}mm").as_str()));
        assert_eq!(root.attribute("viewBox"), Some(format!("0 0 {w} {h}").as_str()));

        let mut picture = GrayImage::from_pixel((w * 10.0) as u32, (h * 10.0) as u32, Luma([255]));
        let mut seen = Vec::new();
        for node in root.children().filter(Node::is_element) {
            let boxes = match node.tag_name().name() {
                "rect" if node.attribute("x").is_some() => {
                    vec![["x", "y", "width", "height"].map(|name| number(&node, name))]
                }
                "path" => pieces(node.attribute("d").unwrap()),
                _ => continue,
            };
            let fill = node.attribute("fill").unwrap().to_string();
            for b in &boxes {
                let [left, top, right, foot] =
                    [b[0], b[1], b[0] + b[2], b[1] + b[3]].map(|v| (v * 10.0).round() as u32);
                let ink = if fill == "#000000" { 0 } else { 255 };
                for y in top..foot {
                    (left..right).for_each(|x| picture.put_pixel(x, y, Luma([ink])));
                }
            }
            seen.push((fill, boxes));
        }
        for patch in &layout.patches {
            let [r, g, b] = patch.srgb;
            let place = [patch.rect.x, patch.rect.y, patch.rect.w, patch.rect.h];
            let there = |s: &[f64; 4]| (0..4).all(|i| (s[i] - place[i]).abs() <= 0.00005);
            let found: Vec<_> = seen.iter().filter(|s| s.1.len() == 1 && there(&s.1[0])).collect();
            assert_eq!(found.len(), 1, "{}", patch.name);
            assert_eq!(found[0].0, format!("#{r:02x}{g:02x}{b:02x}"));
        }
        let place = |x: f64, y: f64| [x, y].map(|v| (v * 10.0).round());
        detect::demand(&picture, &markers(&layout, card), place, &format!("{card:?}"));

        let words: Vec<&str> = root.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
        let line = match card {
            Some(n) => format!("layout {} · card {}", layout.layout, n.get()),
            None => format!("layout {}", layout.layout),
        };
        assert!(words.contains(&line.as_str()), "{words:?}");
        assert!(layout.stations.names.iter().all(|s| words.contains(&s.as_str())), "{words:?}");
        assert_eq!(root.children().filter(|n| n.has_tag_name("polygon")).count(), layout.stations.x.len());
    }
}
