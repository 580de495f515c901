//! The proof of the rules: each fault seeded into a clean design is found there and nothing else, values at the edge of a
//! limit fall on the right side of it, and the same content written otherwise gives the same findings. Ends with the shares
//! of the rules that each kind of proof covers.
//!
//! The table is `seeded-faults.yaml`. `cargo test -p tests --test proof -- RULE..` tries the entries of some rules only and
//! tells what each of their seeds gives.

mod edges;
mod formatting;
mod seeded;
mod table;
mod trial;

use check::{Guidance, RULES};
use std::collections::BTreeSet;
use std::process::ExitCode;
use table::Table;

/// What a proof gives: the rules that it covers, and what does not hold.
#[derive(Default)]
pub struct Proof {
    pub covers: BTreeSet<&'static str>,
    pub broken: Vec<String>,
}

fn main() -> ExitCode {
    // What cargo hands on to other tests is no rule.
    let wanted: Vec<String> =
        std::env::args().skip(1).filter(|it| RULES.iter().any(|rule| rule.name == it.as_str())).collect();
    let mut table = Table::read();
    let mut broken = table.gaps();
    if !wanted.is_empty() {
        table.keep(&wanted);
        seeded::tell(&table);
    }
    let proofs = [
        ("a fault seeded into a clean design is found there, and nothing else", seeded::prove(&table)),
        ("a value just under, at and just over the limit", edges::prove(&table)),
        ("the same findings however the content is written", formatting::prove(&table)),
    ];
    let claims =
        |rule: &check::Rule| -> Vec<String> { Guidance::of(rule).examples().into_iter().map(|it| it.claim).collect() };
    let with = |claim: &str| RULES.iter().filter(|rule| claims(rule).iter().any(|it| it == claim)).count();
    println!("\n{} rules, of which proven by", RULES.len());
    for (what, count) in [
        ("an example that fails", with("fails")),
        ("an example that passes", with("passes")),
        ("an example that its remedy mends", with("remedied")),
    ] {
        println!("{count:5}  {what}");
    }
    for (what, proof) in &proofs {
        println!("{:5}  {what}", proof.covers.len());
    }
    let limited = RULES.iter().filter(|rule| !rule.limits.is_empty());
    let at_the_edge = limited.clone().filter(|rule| proofs[1].1.covers.contains(rule.name)).count();
    println!("Of the {} rules whose limit is a number {at_the_edge} are proven at its edge.\n", limited.count());
    broken.extend(proofs.into_iter().flat_map(|(_, proof)| proof.broken));
    for claim in &broken {
        println!("{claim}\n");
    }
    println!("{} claims do not hold", broken.len());
    if broken.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
