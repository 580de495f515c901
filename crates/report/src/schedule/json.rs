//! The schedule for programs. The shape is that of `schema/schedule.schema.json`.

use super::{CoilCut, Ports, Row, Schedule, Set, SetFor, TooLong};
use crate::findings::with_escapes;
use crate::words::ten_digits;
use crate::{CAUTION, Summary};
use check::Outcome;
use quantity::Quantity;
use serde_json::{Map, Value, json};

/// The loops of each manifold, the coils they are cut from, and what could not be worked out. Values in SI, temperatures in °C.
pub fn json(outcome: &Outcome) -> String {
    let schedule = Schedule::of(outcome);
    let project = &outcome.design.project;
    let word = |given: &design::Given<String>| given.as_ref().map(|it| it.value.clone());
    let value = json!({
        "file": outcome.sources.first().map_or("", |source| &source.path),
        "project": {
            "name": word(&project.name),
            "reference": word(&project.reference),
            "revision": word(&project.revision),
            "stage": outcome.design.stage().word(),
            "issued": project.issued.map(|it| it.value.to_string()),
        },
        "manifolds": schedule.manifolds.iter().map(manifold).collect::<Vec<_>>(),
        "unjoined": schedule.unjoined.iter().map(row).collect::<Vec<_>>(),
        "coils": schedule.coils.iter().map(coil).collect::<Vec<_>>(),
        "too-long-for-coils": schedule.too_long.iter().map(too_long).collect::<Vec<_>>(),
        "missing": schedule.missing.iter().map(|(name, wants)| (name.clone(), json!(wants))).collect::<Map<_, _>>(),
        "summary": Summary::of(outcome),
        "caution": CAUTION,
    });
    with_escapes(format!("{value:#}\n"))
}

fn si<Q: Quantity>(value: Option<Q>) -> Value {
    value.map_or(Value::Null, |value| json!(ten_digits(value.si())))
}

fn manifold(it: &Ports) -> Value {
    json!({
        "name": it.name,
        "storey": it.storey,
        "volume-flow": si(it.flow),
        "pressure-drop": si(it.pressure_drop),
        "head-needed": si(it.head_needed),
        "head-needed-is-upper-end": it.head_is_upper_end,
        "head-available": si(it.head_available),
        "head-for-presettings": si(it.set_for.map(SetFor::head)),
        "head-for-presettings-worked-out": si(it.worked_out_for.or(it.set_for.map(SetFor::head))),
        "loops": it.rows.iter().map(row).collect::<Vec<_>>(),
    })
}

fn row(it: &Row) -> Value {
    json!({
        "name": it.name,
        "port": it.port,
        "rooms": it.rooms,
        "pipe": it.pipe,
        "spacing": si(it.spacing),
        "spacing-laid": si(it.spacing_laid.or(it.spacing)),
        "length": si(it.length),
        "length-designed": si(it.length_designed.or(it.length)),
        "length-to-cut": si(it.length_to_cut),
        "tails-assumed": it.tails_assumed,
        "insulated-tails": si(it.insulated_tails),
        "volume-flow": si(it.flow),
        "presetting": it.presetting.as_ref().map(|Set { kv, turns, stated }| {
            json!({"kv": si(*kv), "turns": turns, "stated": stated})
        }),
        "volume-flow-as-set": si(it.flow_as_set),
        "pressure-drop": si(it.pressure_drop),
        "flow-temperature": si(it.flow_temperature),
        "return-temperature": si(it.return_temperature),
        "heat-up": si(it.output),
    })
}

fn too_long(it: &TooLong) -> Value {
    json!({"loop": it.name, "pipe": it.pipe, "length": si(Some(it.length)), "longest-coil": si(Some(it.longest))})
}

fn coil(it: &CoilCut) -> Value {
    json!({
        "pipe": it.pipe,
        "size": si(Some(it.size)),
        "pieces": it.pieces.iter().map(|(name, length)| json!({"loop": name, "length": si(Some(*length))})).collect::<Vec<_>>(),
        "left": si(Some(it.left)),
    })
}
