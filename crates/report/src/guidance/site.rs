//! The pages of the rules as a small site of plain files: it needs no server, and works without scripts.

use super::{Part, parts};
use crate::words::escaped;
use check::{House, Rule};

/// The files of the site: their names and what they hold.
pub fn site(house: &House) -> Vec<(String, String)> {
    let mut files = vec![("index.html".to_string(), index(house)), ("style.css".to_string(), STYLE.to_string())];
    files.extend(house.rules().map(|rule| (format!("{}.html", rule.name), page(house, rule))));
    files
}

/// Every rule by its group, with a field to search in them.
fn index(house: &House) -> String {
    let mut rules: Vec<&Rule> = house.rules().collect();
    rules.sort_by_key(|rule| (rule.group, rule.name));
    let mut lists = String::new();
    for of_group in rules.chunk_by(|one, other| one.group == other.group) {
        lists += &format!("<section>\n<h2>{}</h2>\n<ul>\n", capital(of_group[0].group.word()));
        for rule in of_group {
            let summary = in_line(house, &house.guidance(rule).summary);
            lists += &format!("<li><a href=\"{0}.html\">{0}</a> <span>{summary}</span></li>\n", rule.name);
        }
        lists += "</ul>\n</section>\n";
    }
    let body = format!(
        "<h1>What is checked of a floor heating design</h1>\n\
         <p>{} rules. Each page says what is asked and why, how it is worked out, whose limit it is, and shows an example that fails and \
         one that passes.</p>\n\
         <p><label for=\"words\">Search</label> <input id=\"words\" type=\"search\" autocomplete=\"off\" \
         placeholder=\"words of a rule or what it asks\"></p>\n\
         <p id=\"none\" hidden>No rule has all these words.</p>\n{lists}<script>\n{SEARCH}</script>\n",
        rules.len()
    );
    document("Rules", &body)
}

fn page(house: &House, rule: &Rule) -> String {
    let mut body = format!(
        "<p class=\"back\"><a href=\"index.html\">All rules</a> · {}</p>\n<h1>{}</h1>\n",
        escaped(rule.group.word()),
        rule.name
    );
    for part in parts(&house.guidance(rule).page) {
        match part {
            Part::Heading(words) => body += &format!("<h2>{}</h2>\n", escaped(&words)),
            Part::Text(words) => body += &format!("<p>{}</p>\n", in_line(house, &words)),
            Part::Example { heading, lines } => {
                body += &format!("<h2>{heading}</h2>\n<pre>{}</pre>\n", example(&lines));
            }
        }
    }
    if !rule.limits.is_empty() {
        body += &format!("<h2>The limits</h2>\n{}", table(super::limits(house, rule)));
    }
    body += &format!("<h2>How much it weighs</h2>\n{}", table(super::weights(house, rule)));
    if let Some(why) = super::switched_off(house, rule) {
        body += &format!("<p>{}</p>\n", escaped(&why));
    }
    body += &format!("<h2>Departures</h2>\n<p>{}</p>\n", in_line(house, super::departures(rule)));
    if let Some(caution) = rule.caution {
        body += &format!("<aside><h2>Caution</h2>\n<p>{}</p></aside>\n", escaped(caution));
    }
    document(rule.name, &body)
}

/// Lines of an example; what is marked under a line stands out.
fn example(lines: &[String]) -> String {
    let mut text = String::new();
    for line in lines {
        let rest = line.trim_start_matches('#').trim_start();
        if line.starts_with('#') && rest.starts_with('^') {
            text += &format!("<b>{}</b>\n", escaped(&line.replacen('#', " ", 1)));
        } else {
            text += &format!("{}\n", escaped(line));
        }
    }
    text
}

/// Text with what stands in backquotes as code; the name of a rule leads to its page.
fn in_line(house: &House, words: &str) -> String {
    let mut text = String::new();
    for (at, piece) in words.split('`').enumerate() {
        let piece = escaped(piece);
        text += &match at % 2 == 1 {
            true if house.rules().any(|rule| rule.name == piece) => format!("<a href=\"{piece}.html\">{piece}</a>"),
            true => format!("<code>{piece}</code>"),
            false => piece,
        };
    }
    text
}

fn table<const COLUMNS: usize, S: AsRef<str>>(rows: impl IntoIterator<Item = [S; COLUMNS]>) -> String {
    let row = |cells: [S; COLUMNS]| -> String {
        let cells: String = cells.iter().map(|cell| format!("<td>{}</td>", escaped(cell.as_ref()))).collect();
        format!("<tr>{cells}</tr>\n")
    };
    format!("<table>\n{}</table>\n", rows.into_iter().map(row).collect::<String>())
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

fn document(title: &str, body: &str) -> String {
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, \
         initial-scale=1\">\n<title>{title} · hypocaust</title>\n<link rel=\"stylesheet\" href=\"style.css\">\n</head>\n<body>\n<main>\n\
         {body}<footer>{}</footer>\n</main>\n</body>\n</html>\n",
        escaped(crate::CAUTION)
    )
}

const SEARCH: &str = "\
const field = document.getElementById('words');
const rules = [...document.querySelectorAll('li')].map(item => [item, item.textContent.toLowerCase()]);
field.addEventListener('input', () => {
  const words = field.value.toLowerCase().split(/\\s+/).filter(Boolean);
  for (const [item, text] of rules) item.hidden = !words.every(word => text.includes(word));
  for (const section of document.querySelectorAll('section')) section.hidden = !section.querySelector('li:not([hidden])');
  document.getElementById('none').hidden = rules.some(([item]) => !item.hidden);
});
";

const STYLE: &str = "\
:root { color-scheme: light dark; --paper: #fbf8f2; --ink: #29241e; --faint: #6d6355; --brick: #9a3f1d; --tray: #f1ebdf; --line: #d9cfbd; }
@media (prefers-color-scheme: dark) { :root { --paper: #1d1a16; --ink: #ece5d8; --faint: #aa9f8d; --brick: #e59467; --tray: #2a251f; --line: #463e33; } }
* { box-sizing: border-box; }
body { margin: 0; background: var(--paper); color: var(--ink); font: 1rem/1.55 system-ui, sans-serif; }
main { max-width: 50rem; margin: 0 auto; padding: 1rem 1rem 3rem; }
h1 { font-size: 1.6rem; line-height: 1.25; margin: 1rem 0; overflow-wrap: anywhere; }
h2 { font-size: 1.1rem; margin: 1.8rem 0 .4rem; }
p { margin: .5rem 0; }
a { color: var(--brick); }
ul { list-style: none; padding: 0; margin: 0; }
li { padding: .45rem 0; border-bottom: 1px solid var(--line); }
li span { display: block; color: var(--faint); }
code, pre { font-family: ui-monospace, monospace; font-size: .87rem; }
code { background: var(--tray); padding: .1em .3em; border-radius: .2em; }
pre { background: var(--tray); padding: .8rem; overflow-x: auto; border-radius: .3rem; line-height: 1.4; }
pre b { color: var(--brick); font-weight: 600; }
table { border-collapse: collapse; width: 100%; }
td { padding: .3rem .6rem .3rem 0; border-bottom: 1px solid var(--line); vertical-align: top; }
input { font: inherit; width: min(24rem, 100%); padding: .4rem .6rem; color: inherit; background: var(--tray); border: 1px solid var(--faint); border-radius: .3rem; }
label { font-weight: 600; }
aside { border-left: .3rem solid var(--brick); padding: .1rem 1rem; margin: 1.5rem 0; background: var(--tray); }
aside h2 { margin-top: .6rem; }
.back, footer { color: var(--faint); }
footer { margin-top: 3rem; padding-top: 1rem; border-top: 1px solid var(--line); font-size: .87rem; }
@media print { body { background: none; } input, label { display: none; } }
";

#[cfg(test)]
mod tests {
    use super::*;
    use check::RULES;

    #[test]
    fn every_page_is_there_and_every_link_leads_to_one() {
        let files = site(&House::default());
        assert_eq!(files.len(), RULES.len() + 2);
        let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
        for (name, text) in files.iter().filter(|(name, _)| name.ends_with(".html")) {
            assert!(text.starts_with("<!DOCTYPE html>") && text.contains("viewport"), "{name}");
            for link in text.split("href=\"").skip(1).filter_map(|rest| rest.split('"').next()) {
                assert!(names.contains(&link), "{name} leads to {link}");
            }
            // Nothing comes from elsewhere, and no text is taken for a sign of the language.
            assert!(!text.contains("http") || text.contains("<pre>"), "{name}");
        }
        let index = &files[0].1;
        assert!(RULES.iter().all(|rule| index.contains(&format!("<a href=\"{}.html\">", rule.name))));
    }

    #[test]
    fn what_an_example_marks_stands_out() {
        let lines = ["W1: {thickness: <9 m}", "#    ^^^ too thick & wide"].map(String::from);
        assert_eq!(example(&lines), "W1: {thickness: &lt;9 m}\n<b>     ^^^ too thick &amp; wide</b>\n");
    }
}
