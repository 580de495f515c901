//! The pack as one PDF: sheets of A4, plans on paper of their own size. Nothing in it comes from a clock or from chance, so that the
//! same design gives the same bytes.
//!
//! Written with `pdf-writer`, and the letters cut down with `subsetter`: together with all that they need they compile ten times
//! as fast as `krilla` with `krilla-svg` (17 s against 183 s of processor time), and of SVG only the few things have to be drawn that
//! the pen of the plan writes.

mod canvas;
mod drawing;
mod letters;
mod setting;
mod structure;

use super::Issue;
use super::sheet::Sheet;
use crate::words::escaped;
use canvas::{BLACK, Canvas, MM, Style, Words, opacity_name};
use letters::{Letters, Weight};
use pdf_writer::types::TabOrder;
use pdf_writer::{Finish, Name, Pdf, Rect, Ref, Settings, TextStr};
use setting::{BLOCK, FOOT, LEFT, Page, RIGHT};
use structure::Structure;

pub fn document(issue: &Issue, sheets: &[Sheet]) -> Vec<u8> {
    let mut letters = Letters::new();
    let (mut pages, structure) = setting::set(&mut letters, sheets);
    let count = pages.len();
    if letters.lacks_some()
        && let Some(first) = pages.iter_mut().find(|page| !page.is_plan)
    {
        let text = "□ stands for a letter that the letters of this document lack; the page for a browser shows it, and copied text has it.";
        let (x, y) = (LEFT, first.canvas.high - FOOT + 4.0);
        first
            .canvas
            .words(&mut letters, &Words { text, x, y, size: 2.4, weight: Weight::Plain, colour: BLACK, turned: 0.0 });
    }
    for (at, page) in pages.iter_mut().enumerate() {
        let number = format!("{} / {count}", at + 1);
        if page.is_plan {
            let (x, y) = (page.canvas.wide - RIGHT, page.canvas.high - 5.0);
            let text = format!("{}, page {number}", issue.title());
            let x = x - letters.width(&text, 2.4, Weight::Plain);
            page.canvas.words(
                &mut letters,
                &Words { text: &text, x, y, size: 2.4, weight: Weight::Plain, colour: BLACK, turned: 0.0 },
            );
        } else {
            let title = &sheets[page.sheet].title;
            title_block(issue, &mut letters, &mut page.canvas, title, &number);
        }
    }
    written(issue, sheets, &letters, pages, structure)
}

/// The title block at the foot of a page.
fn title_block(issue: &Issue, letters: &mut Letters, canvas: &mut Canvas, title: &str, number: &str) {
    let identity = &issue.identity;
    let (wide, top) = (canvas.wide - LEFT - RIGHT, canvas.high - FOOT - BLOCK);
    canvas.rectangle(LEFT, top, wide, BLOCK, &Style::line(0.5));
    let row = top + 6.0;
    canvas.line((LEFT, row), (LEFT + wide, row), 0.2);
    let mut put = |text: &str, x: f64, y: f64, widest: f64, size: f64, weight: Weight| {
        let text = letters.fitting(text, size, weight, widest);
        canvas.words(letters, &Words { text: &text, x, y, size, weight, colour: BLACK, turned: 0.0 });
    };
    let number = format!("page {number}");
    put(&identity.project, LEFT + 1.5, top + 4.2, wide * 0.5, 3.2, Weight::Bold);
    put(title, LEFT + wide * 0.54, top + 4.2, wide * 0.28, 2.8, Weight::Plain);
    put(&number, LEFT + wide * 0.84, top + 4.2, wide * 0.15, 2.8, Weight::Bold);
    let cells = [
        ("reference", &*identity.reference, 0.22),
        ("revision", &*identity.revision, 0.13),
        ("stage", identity.stage, 0.19),
        ("issued", &*identity.issued, 0.15),
        ("checked as on", &issue.day.to_string(), 0.15),
        ("made from design", identity.mark(), 0.16),
    ];
    let mut x = LEFT;
    for (at, (name, value, share)) in cells.into_iter().enumerate() {
        let cell = wide * share;
        put(name, x + 1.5, row + 2.9, cell - 2.5, 1.9, Weight::Plain);
        put(value, x + 1.5, row + 6.6, cell - 2.5, 2.7, Weight::Bold);
        x += cell;
        if at == 5 {
            break;
        }
    }
    let mut x = LEFT;
    for share in [0.22, 0.13, 0.19, 0.15, 0.15] {
        x += wide * share;
        canvas.line((x, row), (x, top + BLOCK), 0.2);
    }
}

fn written(issue: &Issue, sheets: &[Sheet], letters: &Letters, pages: Vec<Page>, structure: Structure) -> Vec<u8> {
    let mut pdf = Pdf::with_settings(Settings { pretty: false });
    let mut last = 0;
    let mut next = || {
        last += 1;
        Ref::new(last)
    };
    let [catalog, tree, about, outline] = [(); 4].map(|()| next());
    let page_refs: Vec<[Ref; 2]> = pages.iter().map(|_| [next(), next()]).collect();
    let opacities: std::collections::BTreeSet<u8> =
        pages.iter().flat_map(|page| page.canvas.opacities.clone()).collect();
    let opacities: Vec<(u8, Ref)> = opacities.into_iter().map(|it| (it, next())).collect();
    // A sheet of which no page was made has no entry.
    let first_page = |sheet: usize| pages.iter().position(|page| page.sheet == sheet);
    let entries: Vec<(&str, usize, Ref)> = sheets
        .iter()
        .enumerate()
        .filter_map(|(at, sheet)| Some((sheet.title.as_str(), first_page(at)?, next())))
        .collect();
    let [plain, bold] = letters.embed(&mut pdf, &mut next);

    let numbered: Vec<(&Canvas, Ref)> =
        pages.iter().map(|page| &page.canvas).zip(page_refs.iter().map(|it| it[0])).collect();
    let structure = structure.write(&mut pdf, &numbered, &mut next);
    let identity = &issue.identity;
    let title =
        format!("{} {}: {}, revision {}", identity.reference, identity.project, issue.title(), identity.revision);
    let about_too = next();
    pdf.metadata(about_too, metadata(&title).as_bytes());

    let mut root = pdf.catalog(catalog);
    root.pages(tree).lang(TextStr("en")).metadata(about_too);
    root.mark_info().marked(true);
    root.pair(Name(b"StructTreeRoot"), structure);
    if let (Some(first), Some(last)) = (entries.first(), entries.last()) {
        root.outlines(outline).page_mode(pdf_writer::types::PageMode::UseOutlines);
        root.viewer_preferences().display_doc_title(true);
        root.finish();
        pdf.outline(outline).first(first.2).last(last.2).count(entries.len() as i32);
    } else {
        root.finish();
    }
    for (at, (title, page, own)) in entries.iter().enumerate() {
        let mut item = pdf.outline_item(*own);
        item.title(TextStr(title)).parent(outline);
        if let Some(before) = at.checked_sub(1).and_then(|at| entries.get(at)) {
            item.prev(before.2);
        }
        if let Some(after) = entries.get(at + 1) {
            item.next(after.2);
        }
        item.dest().page(page_refs[*page][0]).xyz(0.0, (pages[*page].canvas.high * MM) as f32, None);
    }
    pdf.document_info(about).title(TextStr(&title)).creator(TextStr("hypocaust"));
    pdf.pages(tree).kids(page_refs.iter().map(|it| it[0])).count(page_refs.len() as i32);
    for (hundredths, own) in &opacities {
        pdf.ext_graphics(*own).non_stroking_alpha(f32::from(*hundredths) / 100.0);
    }
    for (at, (page, [own, content])) in pages.into_iter().zip(page_refs).enumerate() {
        let mut entry = pdf.page(own);
        entry.parent(tree).contents(content).struct_parents(at as i32).tab_order(TabOrder::StructureOrder);
        entry.media_box(Rect::new(0.0, 0.0, (page.canvas.wide * MM) as f32, (page.canvas.high * MM) as f32));
        let mut resources = entry.resources();
        resources.fonts().pair(Name(b"P"), plain).pair(Name(b"B"), bold);
        if !page.canvas.opacities.is_empty() {
            let mut states = resources.ext_g_states();
            for (hundredths, own) in &opacities {
                states.pair(Name(opacity_name(*hundredths).as_bytes()), *own);
            }
        }
        resources.finish();
        entry.finish();
        stream(&mut pdf, content, page.canvas.finish().as_slice());
    }
    pdf.finish()
}

/// What the document is, as programs read it (ISO 16684-1).
fn metadata(title: &str) -> String {
    format!(
        "<?xpacket begin=\"\u{feff}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n<x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n\
         <rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n<rdf:Description rdf:about=\"\" \
         xmlns:dc=\"http://purl.org/dc/elements/1.1/\">\n\
         <dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">{}</rdf:li></rdf:Alt></dc:title>\n\
         <dc:language><rdf:Bag><rdf:li>en</rdf:li></rdf:Bag></dc:language>\n</rdf:Description>\n</rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"r\"?>",
        escaped(title)
    )
}

/// Writes a stream, pressed.
fn stream(pdf: &mut Pdf, own: Ref, bytes: &[u8]) {
    let pressed = miniz_oxide::deflate::compress_to_vec_zlib(bytes, 7);
    let mut stream = pdf.stream(own, &pressed);
    stream.filter(pdf_writer::Filter::FlateDecode);
    // A face tells its length before it was pressed; elsewhere that does no harm.
    stream.pair(Name(b"Length1"), bytes.len() as i32);
}
