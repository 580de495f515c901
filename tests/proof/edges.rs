//! Values just under, at and just over a limit fall on the right side of it. Where what is judged is worked out, a given
//! value is steered until the rule just speaks: what it judges has to lie at its limit there.

use crate::Proof;
use crate::table::{Steered, Table, name_of};
use crate::trial::Texts;
use check::Finding;
use std::collections::BTreeMap;

/// How far from its limit a steered value may lie when the rule just speaks.
const NEAR: f64 = 1e-3;

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
                let found = match found_at(rule, &edge.design, &edge.change, value) {
                    Ok(found) => found,
                    Err(error) => {
                        proof.broken.push(format!("{rule}: {error}"));
                        holds = false;
                        continue;
                    }
                };
                let said: Vec<&str> = found.iter().map(|it| it.message.as_str()).collect();
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
    for (rule, steered) in &table.steered {
        for it in steered {
            match crossing(rule, it) {
                Ok(()) => proof.covers.extend(name_of(rule)),
                Err(error) => proof.broken.push(format!("{rule} in {}: {error}", it.design)),
            }
        }
    }
    proof
}

/// What a rule says with a value in the place of `?`, told with its cause or not.
fn found_at(rule: &str, design: &str, change: &BTreeMap<String, String>, value: &str) -> Result<Vec<Finding>, String> {
    let change = change.iter().map(|(old, new)| (old.clone(), new.replace('?', value))).collect();
    let outcome = Texts::of(design).changed(&change)?.check();
    let all = outcome.findings.into_iter().chain(outcome.followers);
    Ok(all.filter(|it| it.rule.name == rule).collect())
}

/// Goes from a value at which the rule is silent to one at which it speaks, by halves, to where it just speaks.
fn crossing(rule: &str, steered: &Steered) -> Result<(), String> {
    // A coordinate has no unit.
    let number = |text: &str| -> Result<(f64, String), String> {
        let (number, unit) = text.split_once(' ').unwrap_or((text, ""));
        Ok((number.parse().map_err(|_| format!("{number} is no number"))?, unit.to_string()))
    };
    let found =
        |value: f64, unit: &str| found_at(rule, &steered.design, &steered.change, format!("{value} {unit}").trim_end());
    let ((mut silent, unit), (mut speaks, _)) = (number(&steered.silent)?, number(&steered.found)?);
    if !found(silent, &unit)?.is_empty() {
        return Err(format!("speaks at {}", steered.silent));
    }
    let mut last = found(speaks, &unit)?;
    for _ in 0..16 {
        let middle = (silent + speaks) / 2.0;
        let there = found(middle, &unit)?;
        if there.is_empty() {
            silent = middle;
        } else {
            (speaks, last) = (middle, there);
        }
    }
    let finding = last.first().ok_or_else(|| format!("is silent at {}", steered.found))?;
    let amounts = finding.value.zip(finding.limit.as_ref().and_then(|it| it.amount));
    let (value, limit) = amounts.ok_or("gives no value and limit")?;
    if value.unit == limit.unit && (value.value - limit.value).abs() <= NEAR * limit.value.abs() {
        return Ok(());
    }
    Err(format!(
        "just speaks at {speaks} {unit}, where it judges {} {} by {} {}: {}",
        value.value, value.unit, limit.value, limit.unit, finding.message
    ))
}
