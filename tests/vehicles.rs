//! The built-in vehicles and the schema of their files: they read without fault, say where each figure comes from,
//! and measure what they should.
use wideenough::vehicle::{self, Vehicle};

fn all() -> Vec<Vehicle> {
    vehicle::library()
        .iter()
        .map(|(name, _)| vehicle::find(name).unwrap_or_else(|e| panic!("{name}:\n{e}")))
        .collect()
}

#[test]
fn the_library_is_complete_and_reads() {
    // 18 everyday vehicles and 11 published design vehicles.
    let all = all();
    assert_eq!(all.len(), 29);
    assert_eq!(all.iter().filter(|v| v.name.starts_with("aashto-")).count(), 11);
    let mut names: Vec<_> = all.iter().map(|v| &v.name).collect();
    names.sort();
    names.dedup();
    assert_eq!(names.len(), 29);
}

/// The committed schema is what the types say. `BLESS=1 cargo test` rewrites it.
#[test]
fn schema_is_current() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/vehicles/vehicle.schema.json");
    let schema = vehicle::schema();
    if std::env::var_os("BLESS").is_some() {
        std::fs::write(path, &schema).unwrap();
    }
    let committed = std::fs::read_to_string(path).unwrap_or_default();
    assert!(committed == schema, "{path} is out of date; run `BLESS=1 cargo test --test vehicles`");
}
