//! The JSON Schema of the format (draft 2020-12), written from the same tables as the reader uses.

use crate::format::{Design, HouseStandard};
use crate::shape::{RecordInfo, Shape};
use serde_json::{Map, Value, json};

/// The schema of a design file.
///
/// It is as strict as the reader about keys, words and shapes, and about units in their common
/// spellings. What only a checker can know (that a name exists, that a value makes sense) it leaves alone.
pub fn schema() -> Value {
    of("hypocaust design, format 1", &Design::INFO)
}

/// The schema of a house standard; what its own rules look at, and which rules there are, it does not know.
pub fn house_standard() -> Value {
    of("hypocaust house standard, format 1", &HouseStandard::INFO)
}

fn of(title: &str, info: &'static RecordInfo) -> Value {
    let mut records = Map::new();
    let design = record(info, &mut records);
    let mut schema = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": title,
    });
    let object = schema.as_object_mut().expect("a JSON object is written just above");
    object.extend(design);
    object.insert("required".into(), json!(["format"]));
    records.sort_keys();
    object.insert("$defs".into(), Value::Object(records));
    schema
}

fn record(info: &'static RecordInfo, records: &mut Map<String, Value>) -> Map<String, Value> {
    let mut keys = Map::new();
    for field in info.fields {
        let mut shape = shape(&(field.shape)(), records);
        if field.key == "format" {
            shape = json!({"enum": [1, "1"]});
        }
        shape["description"] = sentence(field.about).into();
        keys.insert(field.key.into(), shape);
    }
    let mut object = Map::new();
    object.insert("description".into(), sentence(info.about).into());
    object.insert("type".into(), json!("object"));
    object.insert("properties".into(), Value::Object(keys));
    object.insert("additionalProperties".into(), json!(false));
    object
}

fn sentence(about: &str) -> String {
    about.lines().map(str::trim).collect::<Vec<_>>().join(" ").trim().to_string()
}

fn shape(shape_of: &Shape, records: &mut Map<String, Value>) -> Value {
    match shape_of {
        Shape::Text(_) => json!({"type": ["string", "number", "boolean"]}),
        Shape::Number(_) => json!({"type": "number"}),
        Shape::Whole => json!({"type": "integer", "minimum": 0}),
        Shape::Flag => json!({"enum": [true, false, "yes", "no"]}),
        Shape::Date => json!({"type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"}),
        Shape::Quantity { units, .. } => {
            json!({"type": "string", "pattern": format!("^{NUMBER}{}$", units_pattern(units))})
        }
        Shape::Range { units, .. } => {
            let unit = units_pattern(units);
            json!({"type": "string", "pattern": format!("^{NUMBER}({unit})? to {NUMBER}{unit}$")})
        }
        Shape::Word(words) => json!({"enum": words.iter().map(|(word, _)| *word).collect::<Vec<_>>()}),
        Shape::Name(_) => json!({"type": ["string", "number"]}),
        Shape::Point => json!({
            "type": "array", "prefixItems": [{"type": "number"}, {"type": "number"}], "minItems": 2, "maxItems": 2,
        }),
        Shape::Record(info) => {
            if !records.contains_key(info.name) {
                // The name is taken first, so that a record that holds itself would end here.
                records.insert(info.name.into(), Value::Null);
                let written = record(info, records);
                records.insert(info.name.into(), Value::Object(written));
            }
            json!({"$ref": format!("#/$defs/{}", info.name)})
        }
        Shape::Named(_, of) => {
            let of = or_nothing(shape(of, records));
            json!({"anyOf": [{"type": "object", "additionalProperties": of}, {"const": "none"}]})
        }
        Shape::List { of, or_one, least, most } => {
            let of = shape(of, records);
            let mut list = json!({"type": "array", "items": of});
            if *least > 0 {
                list["minItems"] = json!(least);
            }
            if let Some(most) = most {
                list["maxItems"] = json!(most);
            }
            if *or_one { json!({"anyOf": [list, of]}) } else { list }
        }
        Shape::Either(shapes) => {
            json!({"anyOf": shapes.iter().map(|one| shape(one, records)).collect::<Vec<_>>()})
        }
    }
}

/// A block may be empty while it is being typed.
fn or_nothing(of: Value) -> Value {
    json!({"anyOf": [of, {"type": "null"}]})
}

const NUMBER: &str = r"\s*[+\-−]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+\-]?[0-9]+)?\s*";

/// The units of a kind as a pattern; signs for "times" may be left out.
fn units_pattern(units: &[&str]) -> String {
    let spelt: Vec<String> = units
        .iter()
        .map(|unit| {
            unit.chars()
                .map(|c| match c {
                    '·' | '.' => r"[·⋅*. ]?".to_string(),
                    '(' => r"\(?".to_string(),
                    ')' => r"\)?".to_string(),
                    '²' => "[²2]".to_string(),
                    '³' => "[³3]".to_string(),
                    'l' => "[lLℓ]".to_string(),
                    '°' => "[°º˚]".to_string(),
                    'µ' => "[µμ]".to_string(),
                    other => other.to_string(),
                })
                .collect()
        })
        .collect();
    format!(r"({})\s*", spelt.join("|"))
}
