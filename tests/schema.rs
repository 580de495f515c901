//! The schema in `schema/` is the one that the reader's own tables give, and the demo designs fit it.

use serde_json::Value;
use std::fs;
use std::path::PathBuf;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("..")
}

#[test]
fn the_schema_of_designs_is_up_to_date() {
    let path = root().join("schema/design.schema.json");
    let wanted = format!("{:#}\n", design::schema::schema());
    // A checkout may have turned the line ends.
    let stands = fs::read_to_string(&path).unwrap_or_default().replace("\r\n", "\n");
    if stands != wanted {
        fs::write(&path, wanted).expect("the schema can be written");
        panic!("schema/design.schema.json was stale and is written anew; look at it and run the tests again");
    }
}

#[test]
fn every_demo_design_fits_the_schema() {
    let schema = design::schema::schema();
    let schema = jsonschema::draft202012::new(&schema).expect("the schema is a schema");
    let mut designs = designs(root().join("demo-designs"));
    designs.sort();
    let mut faults = Vec::new();
    for path in designs {
        let name = path.strip_prefix(root()).unwrap_or(&path).display().to_string();
        let text = fs::read_to_string(&path).expect("a demo design can be read");
        let design: Value = match serde_yaml::from_str(&text) {
            Ok(design) => design,
            Err(error) => {
                faults.push(format!("{name}: {error}"));
                continue;
            }
        };
        faults.extend(schema.iter_errors(&design).map(|it| format!("{name} at {}: {it}", it.instance_path())));
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// The designs in a folder and in those below it.
fn designs(folder: PathBuf) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).expect("the folder can be read");
    let paths = entries.map(|entry| entry.expect("the folder can be read").path());
    let (folders, files): (Vec<PathBuf>, Vec<PathBuf>) = paths.partition(|path| path.is_dir());
    let here = files.into_iter().filter(|path| path.to_string_lossy().ends_with(".ufh.yaml"));
    here.chain(folders.into_iter().flat_map(designs)).collect()
}

#[test]
fn the_schema_refuses_what_the_reader_refuses() {
    let schema = jsonschema::draft202012::new(&design::schema::schema()).expect("the schema is a schema");
    let fits = |text: &str| schema.is_valid(&serde_yaml::from_str::<Value>(text).expect("the text is YAML"));
    assert!(fits("format: 1\nrooms: {hall: {area: 12 m²}}\nloops: {L1: {spacing: 150 mm}}\n"));
    for wrong in [
        "rooms: {hall: {area: 12 m²}}\n",
        "format: 1\nrooms: {hall: {area: 12}}\n",
        "format: 1\nrooms: {hall: {area: 12 l/min}}\n",
        "format: 1\nrooms: {hall: {aera: 12 m²}}\n",
    ] {
        assert!(!fits(wrong), "{wrong}");
    }
}
