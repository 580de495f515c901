//! The schema in `schema/` is the one that the reader's own tables give, and the two agree.

use design::FaultKind;
use serde_json::Value;
use std::fs;
use std::path::PathBuf;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("..")
}

#[test]
fn the_schema_of_designs_is_up_to_date() {
    is_up_to_date("design", &design::schema::schema());
}

#[test]
fn the_schema_of_house_standards_is_up_to_date() {
    is_up_to_date("house-standard", &design::schema::house_standard());
}

#[track_caller]
fn is_up_to_date(name: &str, schema: &Value) {
    let path = root().join(format!("schema/{name}.schema.json"));
    let wanted = format!("{schema:#}\n");
    // A checkout may have turned the line ends.
    let stands = fs::read_to_string(&path).unwrap_or_default().replace("\r\n", "\n");
    if stands != wanted {
        fs::write(&path, wanted).expect("the schema can be written");
        panic!("schema/{name}.schema.json was stale and is written anew; look at it and run the tests again");
    }
}

#[test]
fn the_schema_and_the_reader_agree_about_every_demo_design() {
    let schema = design::schema::schema();
    let schema = jsonschema::draft202012::new(&schema).expect("the schema is a schema");
    let mut designs = designs(root().join("demo-designs"));
    designs.sort();
    assert!(!designs.is_empty());
    for path in designs {
        let text = fs::read_to_string(&path).expect("a demo design can be read");
        let design: Value = serde_yaml::from_str(&text).unwrap_or_else(|error| panic!("{path:?}: {error}"));
        let refused: Vec<String> =
            schema.iter_errors(&design).map(|it| format!("at {}: {it}", it.instance_path())).collect();
        let reading = design::read("design", text.as_bytes(), &|_| Err("not read here".into()));
        // Whether a name is given to something, no schema can know.
        let faults: Vec<&FaultKind> = reading.faults.iter().map(|it| &it.kind).filter(|it| !of_names(it)).collect();
        assert_eq!(refused.is_empty(), faults.is_empty(), "{path:?}\nschema: {refused:#?}\nreader: {faults:#?}");
    }
}

/// Whether a fault is one of names.
fn of_names(fault: &FaultKind) -> bool {
    matches!(fault, FaultKind::UnknownName { .. } | FaultKind::LibraryUnreadable { .. } | FaultKind::GivenTwice { .. })
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
