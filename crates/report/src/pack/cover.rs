//! The first sheet: what this is, what is in it, what it came from, who stands for it, and what can hurt people.

use super::Issue;
use super::identity::Identity;
use super::sheet::{Sheet, Table};
use crate::{CAUTION, CAUTIONS, Summary};
use design::Given;

pub fn sheet(issue: &Issue, others: &[Sheet]) -> Sheet {
    let design = &issue.outcome.design;
    let (project, identity) = (&design.project, &issue.identity);
    let text = |given: &Given<String>, without: &str| {
        given.as_ref().map_or(without.to_string(), |it| it.value.trim().to_string())
    };
    let mut sheet = Sheet::new("cover", format!("{}: underfloor heating", issue.title()));
    sheet.table(Table::of_facts([
        ("project", identity.project.clone()),
        ("reference", identity.reference.clone()),
        ("revision", identity.revision.clone()),
        ("stage", identity.stage.to_string()),
        ("issued", identity.issued.clone()),
        ("earlier revisions", earlier(issue)),
        ("designed by", text(&project.designer, "not named")),
        ("checked by", text(&project.checker, "nobody named")),
    ]));
    sheet.heading("State of the check");
    let summary = Summary::of(issue.outcome).sentence();
    sheet.words(format!(
        "Checked by program as on {}: {summary}. No error stands without an agreed departure; the sheet “Check record” has \
         every rule, what was found, what could not be checked, and each departure with its reason.",
        issue.day
    ));
    sheet.heading("Contents");
    let mut contents = Table::new(["*sheet", "for"]);
    for other in others {
        contents.row([other.title.clone(), whom(&other.name).to_string()]);
    }
    sheet.table(contents);
    sheet.heading("What it was made from");
    sheet.words(
        "Whoever holds a drawing or a sheet can tell by its title block which file it came from: the block carries the first \
         twelve signs of the SHA-256 of the design (FIPS 180-4), which any tool for such digests works out of the file.",
    );
    let mut sources = Table::new(["*file", "SHA-256"]);
    for (path, digest) in &identity.sources {
        sources.row([path, digest]);
    }
    sheet.table(sources);
    if let Some(issued) = issue.issued {
        let issued = Identity::of(issued);
        sheet.words(format!(
            "Held against the design as issued before: revision {} of {}, whose SHA-256 begins with {}.",
            issued.revision,
            issued.issued,
            issued.mark()
        ));
    }
    sheet.heading("Agreed");
    sheet.words("The program does not sign. Designer and checker do, by name and date.");
    let mut signed = Table::new(["*role", "name", "signature", "date"]);
    signed.row(["designed by", &text(&project.designer, ""), "", ""]);
    signed.row(["checked by", &text(&project.checker, ""), "", ""]);
    for (role, name) in [
        ("fuel work", &project.competent_people.fuel),
        ("electrical work", &project.competent_people.electrical),
        ("unvented hot water", &project.competent_people.hot_water),
        ("structure", &project.competent_people.structure),
    ] {
        if name.is_some() {
            signed.row([role, &text(name, ""), "", ""]);
        }
    }
    sheet.table(signed);
    sheet.heading("Cautions");
    sheet.caution(CAUTIONS.join("\n"));
    sheet.words(CAUTION);
    sheet
}

fn earlier(issue: &Issue) -> String {
    let earlier = issue.outcome.design.project.earlier_revisions.iter().map(|it| {
        let revision = it.value.revision.as_ref().map_or("?", |it| it.value.trim());
        match it.value.issued {
            Some(day) => format!("{revision} of {}", day.value),
            None => revision.to_string(),
        }
    });
    let earlier: Vec<String> = earlier.collect();
    match (&earlier[..], issue.issued.map(Identity::of)) {
        ([], None) => "none told".into(),
        ([], Some(issued)) => format!("{} of {}", issued.revision, issued.issued),
        _ => earlier.join(", "),
    }
}

/// Who needs a sheet.
fn whom(name: &str) -> &'static str {
    match name {
        "do-not-drill" => "whoever works on the floor: to be put up at the manifold",
        "plan" => "the pipe layer; whoever drills later",
        "loops" => "the pipe layer; whoever sets the valves",
        "floors" => "the screeder, the tiler, whoever lays the floor",
        "site" => "the site: testing, photographs, setting, first heating",
        "handover" => "the owner, and whoever looks after the system",
        "changes" => "the checker, the client, whoever has the earlier drawings",
        "record" => "the checker and the client",
        "calculation" => "the checker",
        _ => "",
    }
}
