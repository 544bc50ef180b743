//! The gate itself: allowances and their file, stock sizes against the facts of the trade, leaf arcs, waiting room,
//! rules, and the laws that leaves keep.
use wideenough::gate;

/// The committed schema is what the types say. `BLESS=1 cargo test` rewrites it.
#[test]
fn schema_is_current() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/gate-allowances.schema.json");
    let schema = gate::schema();
    if std::env::var_os("BLESS").is_some_and(|v| v == "1") {
        std::fs::write(path, &schema).unwrap();
    }
    assert_eq!(std::fs::read_to_string(path).unwrap(), schema, "BLESS=1 cargo test --test gate rewrites it");
}
