//! The printed report keeps to its own schema and to the keys that others rely on.

use loomwright_proof::report::{self, Report};
use serde_json::Value;

/// Keys of the contract, as paths; `[]` steps into a list's items.
const CONTRACT: &[&str] = &[
    "plan.name",
    "plan.revision",
    "plan.digest",
    "ready",
    "verdict",
    "findings[].code",
    "findings[].severity",
    "findings[].items",
    "findings[].says",
    "findings[].value",
    "findings[].limit",
    "findings[].source",
    "findings[].do",
    "findings[].at.file",
    "findings[].at.line",
    "findings[].at.column",
    "streams[].id",
    "streams[].packet_stream",
    "streams[].to",
    "streams[].network",
    "streams[].path",
    "streams[].hops",
    "streams[].wire_bps",
    "streams[].delay.least_ns",
    "streams[].delay.worst_ns",
    "streams[].delay.known_tight",
    "streams[].delay.per_hop[].at",
    "streams[].delay.per_hop[].serialise_ns",
    "streams[].delay.per_hop[].wait_ns",
    "streams[].delay.per_hop[].forward_ns",
    "streams[].delay.per_hop[].propagate_ns",
    "links[].from",
    "links[].to",
    "links[].cable",
    "links[].speed_bps",
    "links[].load_bps",
    "links[].streams",
    "links[].unwanted_bps",
    "clock[].network",
    "clock[].leader",
    "clock[].per_device[].device",
    "clock[].per_device[].hops",
    "clock[].per_device[].worst_error_ns",
    "failures[].without",
    "failures[].frozen",
    "failures[].silent[].stream",
    "failures[].silent[].to",
    "failures[].one_leg_left",
    "failures[].gap_ns",
    "failures[].clock_changes",
    "pairs.count",
    "pairs.worst",
    "availability.essential",
    "availability.per_stream[].stream",
    "availability.per_stream[].to",
    "availability.per_stream[].up",
    "availability.spares[].gear",
    "availability.spares[].gain",
    "availability.boxes[].item",
    "availability.guard",
    "power[].feed",
    "power[].draw_mw",
    "poe[].switch",
    "poe[].budget_mw",
    "poe[].draw_mw",
    "lengths[].cable",
    "lengths[].length_mm",
    "lengths[].limit_mm",
];

fn schema() -> Value {
    serde_json::from_str(&report::schema()).expect("the schema is JSON")
}

/// The part of a schema that a reference points at.
fn resolved<'a>(root: &'a Value, mut at: &'a Value) -> &'a Value {
    loop {
        let either = at.get("anyOf").and_then(Value::as_array).and_then(|all| all.iter().find(|one| one.get("$ref").is_some()));
        let Some(reference) = either.unwrap_or(at).get("$ref").and_then(Value::as_str) else { return at };
        at = root.pointer(reference.trim_start_matches('#')).expect("references lead somewhere");
    }
}

#[test]
fn the_schema_names_every_key_of_the_contract() {
    let root = schema();
    for path in CONTRACT {
        let mut at = &root;
        for step in path.split('.') {
            at = resolved(&root, at);
            at = at.pointer(&format!("/properties/{}", step.trim_end_matches("[]"))).unwrap_or_else(|| panic!("no {step} of {path}"));
            if step.ends_with("[]") {
                at = at.get("items").unwrap_or_else(|| panic!("{step} of {path} is no list"));
            }
        }
    }
}

#[test]
fn an_empty_report_keeps_to_the_schema() {
    let validator = jsonschema::validator_for(&schema()).expect("the schema is a schema");
    let printed = serde_json::to_value(Report::default()).expect("reports print");
    assert_eq!(validator.iter_errors(&printed).map(|error| error.to_string()).collect::<Vec<_>>(), Vec::<String>::new());
    assert!(!validator.is_valid(&serde_json::json!({"ready": "perhaps"})));
}
