//! Values just under, at and just over a limit fall on the right side of it.

use crate::Proof;
use crate::table::{Table, name_of};
use crate::trial::Texts;

pub fn prove(table: &Table) -> Proof {
    let mut proof = Proof::default();
    for (rule, edges) in &table.edges {
        for edge in edges {
            let mut holds =
                !edge.silent.is_empty() && !edge.found.is_empty() && edge.silent.len() + edge.found.len() > 2;
            if !holds {
                proof.broken.push(format!("{rule}: an edge has values under, at and over the limit"));
            }
            let values = edge.silent.iter().map(|it| (it, false)).chain(edge.found.iter().map(|it| (it, true)));
            for (value, wanted) in values {
                let change = edge.change.iter().map(|(old, new)| (old.clone(), new.replace('?', value))).collect();
                let outcome = match Texts::of(&edge.design).changed(&change) {
                    Ok(texts) => texts.check(),
                    Err(error) => {
                        proof.broken.push(format!("{rule}: {error}"));
                        holds = false;
                        continue;
                    }
                };
                let all = outcome.findings.iter().chain(&outcome.followers);
                let said: Vec<&str> = all.filter(|it| it.rule.name == rule).map(|it| it.message.as_str()).collect();
                if said.is_empty() == wanted {
                    let not = if wanted { "is silent" } else { "speaks" };
                    proof.broken.push(format!("{rule} in {} {not} at {value}: {said:?}", edge.design));
                    holds = false;
                }
            }
            if holds {
                proof.covers.extend(name_of(rule));
            }
        }
    }
    proof
}
