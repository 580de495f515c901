//! Each fault, put into a clean design, is found at its place, and nothing else is.

use crate::Proof;
use crate::table::{Seed, Table, name_of};
use crate::trial::{Said, Texts, placed};
use std::collections::{BTreeMap, BTreeSet};

/// What a seed makes that the clean design does not have. A figure in a hint of the clean design may change.
fn new_in(seed: &Seed, clean: &[(Said, String)]) -> Result<Vec<(Said, String)>, String> {
    let mut clean: Vec<&(Said, String)> = clean.iter().collect();
    let mut found = placed(&Texts::of(&seed.design).changed(&seed.change)?.check());
    found.retain(|(it, _)| match clean.iter().position(|(known, _)| (known.rule, &known.at) == (it.rule, &it.at)) {
        Some(at) => {
            clean.swap_remove(at);
            false
        }
        None => true,
    });
    Ok(found)
}

/// What is said of the clean designs, by their names.
fn clean(table: &Table) -> BTreeMap<&str, Vec<(Said, String)>> {
    let designs = table.seeded.values().flatten().map(|seed| seed.design.as_str());
    let designs: BTreeSet<&str> = designs.collect();
    designs.into_iter().map(|design| (design, placed(&Texts::of(design).check()))).collect()
}

fn seeds(table: &Table) -> impl Iterator<Item = (&str, &Seed)> {
    table.seeded.iter().flat_map(|(rule, seeds)| seeds.iter().map(move |seed| (rule.as_str(), seed)))
}

pub fn prove(table: &Table) -> Proof {
    let mut proof = Proof::default();
    let clean = clean(table);
    // The demo designs are held by a test of their own; of those made for seeds nothing at all is said.
    for (design, said) in
        clean.iter().filter(|(design, said)| !said.is_empty() && Texts::of(design).is_made_for_seeds())
    {
        proof.broken.push(format!("{design} is not clean: {}", words(said)));
    }
    for (rule, seed) in seeds(table) {
        let claim = format!("{rule} in {}: {:?}", seed.design, seed.change);
        let found = match new_in(seed, &clean[seed.design.as_str()]) {
            Ok(found) => found,
            Err(error) => {
                proof.broken.push(format!("{claim}: {error}"));
                continue;
            }
        };
        let mut wanted = vec![(rule, seed.at.as_str())];
        wanted.extend(seed.also.iter().map(|it| (it.rule.as_str(), it.at.as_str())));
        wanted.sort();
        let mut there: Vec<(&str, &str)> = found.iter().map(|(it, _)| (it.rule, it.at.as_str())).collect();
        there.sort();
        let place = seed.place.as_ref().unwrap_or(&seed.at);
        let in_place = found.iter().any(|(it, at)| it.rule == rule && it.at == seed.at && at == place);
        if there != wanted {
            proof.broken.push(format!("{claim}\nwants {wanted:?}\nfinds {}", words(&found)));
        } else if !in_place {
            proof.broken.push(format!("{claim}\nwants it at {place}\nfinds {}", words(&found)));
        } else if let Some(also) = seed.also.iter().find(|it| it.because.is_empty()) {
            proof.broken.push(format!("{claim}\n{} is to say why it is a matter of its own", also.rule));
        } else {
            proof.covers.extend(name_of(rule));
        }
    }
    proof
}

fn words(found: &[(Said, String)]) -> String {
    let each = found.iter().map(|(it, place)| {
        let severity = it.severity.word();
        format!("\n    {} at: {} place: {place} ({severity})\n        {}", it.rule, it.at, it.message)
    });
    each.collect()
}

/// Tells what each seed gives.
pub fn tell(table: &Table) {
    let clean = clean(table);
    for (rule, seed) in seeds(table) {
        println!(
            "{rule} in {}{}",
            seed.design,
            new_in(seed, &clean[seed.design.as_str()]).map_or_else(|error| error, |found| words(&found))
        );
    }
}
