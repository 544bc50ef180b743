//! Vehicle files with faults: each message names the file, the line and the value, and says what to do.
use rstest::rstest;
use wideenough::vehicle;

/// A sound file of two units; each case below spoils it in one place.
const SOUND: &str = r#"{
  "title": "Farm truck and trailer",
  "sources": { "tape": "measured" },
  "steering": { "turning_circle": { "kind": "curb", "diameter": "50 ft" }, "lock_distance": 2 },
  "units": [
    { "name": "truck",
      "wheelbase": "14 ft",
      "front_overhang": "3 ft",
      "rear_overhang": "5 ft",
      "width": "7 ft",
      "height": "8 ft",
      "rear_axle": { "track": "5 ft", "tire_width": "9 in", "dual_spacing": "11 in", "axles": 2, "spacing": "4 ft" },
      "mirrors": { "width": "9 ft", "from": "4 ft", "to": "5 ft", "bottom": "4 ft", "top": "6 ft" },
      "hitch": { "behind_axle": "5.5 ft", "max_angle_deg": 60 } },
    { "name": "trailer",
      "hitch_to_axle": "12 ft",
      "front_overhang": "-4 ft",
      "rear_overhang": "6 ft",
      "width": { "value": "8 ft", "source": "tape" },
      "tongue": { "width": "4 ft", "bottom": "1 ft", "top": "3 ft" },
      "height": "7 ft" }
  ]
}"#;

#[test]
fn the_sound_file_is_sound() {
    let v = vehicle::read(SOUND, "farm.json").unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(v.units.len(), 2);
}

#[rstest]
#[case(r#""14 ft""#, "0", "farm.json:7:20: units[0].wheelbase: is 0; it must be more than 0")]
#[case(r#""14 ft""#, r#""14""#,
    r#"farm.json:7:20: units[0].wheelbase: "14" has no unit; write "14 ft", "14 in" or "14 m" (in a file, a number without quotes is meters)"#)]
#[case(r#""14 ft""#, "true",
    r#"farm.json:7:20: units[0].wheelbase: must be a length: meters, or text with a unit such as "8 ft", but is true"#)]
#[case(r#""14 ft""#, r#"{ "value": null }"#,
    r#"farm.json:7:31: units[0].wheelbase.value: must be a length: meters, or text with a unit such as "8 ft", but is null"#)]
#[case(r#""14 ft""#, r#"{ "value": "14 ft", "sorce": "tape" }"#,
    r#"farm.json:7:49: units[0].wheelbase.sorce: is not a field of a vehicle file in this place; did you mean "source"?"#)]
#[case(r#""14 ft""#, r#"{ "value": "14 ft", "source": "tap" }"#,
    r#"farm.json:7:20: units[0].wheelbase: names the source "tap", which is not in "sources"; add it there with an explanation"#)]
#[case(r#""14 ft""#, "168",
    r#"farm.json:7:20: units[0].wheelbase: is 168; no road vehicle has that. A number without a unit is meters: write "12 ft" or "144 in" for feet or inches"#)]
#[case(r#""wheelbase""#, r#""wheelbse""#,
    r#"farm.json:7:19: units[0].wheelbse: is not a field of a vehicle file in this place; did you mean "wheelbase"?"#)]
#[case(r#""wheelbase""#, r#""hitch_to_axle""#,
    r#"farm.json:7:24: units[0].hitch_to_axle: does not belong here: the first unit, which steers, has a "wheelbase" instead"#)]
#[case(
    r#""width": "7 ft""#,
    r#""width": "-7 ft""#,
    r#"farm.json:10:16: units[0].width: is "-7 ft"; it must be more than 0"#
)]
#[case(
    r#""5.5 ft""#,
    r#""-14 ft""#,
    "farm.json:14:33: units[0].hitch.behind_axle: puts the hitch at or ahead of the steered axle, 4.267 m ahead of the rear axle; a hitch behind the rear axle is positive"
)]
#[case(
    r#""max_angle_deg": 60"#,
    r#""max_angle_deg": 91"#,
    "farm.json:14:60: units[0].hitch.max_angle_deg: is 91 degrees; it must be more than 0 and at most 90"
)]
#[case(
    r#""max_angle_deg": 60"#,
    r#""max_angle_deg": "60""#,
    r#"farm.json:14:60: units[0].hitch.max_angle_deg: must be an angle in degrees, a number, but is "60""#
)]
#[case(r#""track": "5 ft""#, r#""track": "6 ft""#,
    r#"farm.json:12:31: units[0].rear_axle.track: puts the tires outside the body: 2.337 m over the tires, and the unit is 2.134 m wide. "width" is the overall width, tires included"#)]
#[case(
    r#""dual_spacing": "11 in""#,
    r#""dual_spacing": "8 in""#,
    "farm.json:12:77: units[0].rear_axle.dual_spacing: is less than a tire is wide (0.229 m): the two tires of a pair would overlap"
)]
#[case(
    r#", "spacing": "4 ft""#,
    "",
    r#"farm.json:12:20: units[0].rear_axle: has 2 axles but no "spacing" between neighboring ones"#
)]
#[case(
    r#""axles": 2"#,
    r#""axles": 9"#,
    "farm.json:12:95: units[0].rear_axle.axles: must be from 1 to 6, but is 9"
)]
#[case(
    r#""axles": 2"#,
    r#""axles": 1.5"#,
    "farm.json:12:95: units[0].rear_axle.axles: must be a whole number, but is 1.5"
)]
#[case(
    r#""width": "9 ft""#,
    r#""width": "6 ft""#,
    "farm.json:13:29: units[0].mirrors.width: is less than the body's 2.134 m; give the width over both mirrors, or leave mirrors out"
)]
#[case(
    r#""from": "4 ft""#,
    r#""from": "6 ft""#,
    r#"farm.json:13:45: units[0].mirrors.from: is further back than "to"; both are measured from the front"#
)]
#[case(
    r#""to": "5 ft""#,
    r#""to": "50 ft""#,
    "farm.json:13:59: units[0].mirrors.to: is behind the body, which is 6.706 m long"
)]
#[case(r#""kind": "curb""#, r#""kind": "kerb""#,
    r#"farm.json:4:45: steering.turning_circle.kind: must be "curb" or "tire-edge" or "wall" or "centerline", but is "kerb""#)]
#[case(
    r#""diameter": "50 ft""#,
    r#""diameter": "25 ft""#,
    "farm.json:4:35: steering.turning_circle: is too small for a wheelbase of 4.267 m: a radius of 3.810 m puts the turning center inside the vehicle. Is a radius given as a diameter?"
)]
#[case(
    r#""diameter": "50 ft""#,
    r#""diameter": "31 ft""#,
    "farm.json:4:35: steering.turning_circle: means a lock angle of 75.7 degrees; no road vehicle reaches 60. Is the circle of another kind, or a radius given as a diameter?"
)]
#[case(
    r#""diameter": "50 ft""#,
    r#""diameter": "50 ft", "radius": 8"#,
    r#"farm.json:4:35: steering.turning_circle: needs either "diameter" or "radius""#
)]
#[case(
    r#""turning_circle": { "kind": "curb", "diameter": "50 ft" }"#,
    r#""lock_angle_deg": 60"#,
    "farm.json:4:35: steering.lock_angle_deg: is 60 degrees; it must be more than 0 and less than 60"
)]
#[case(r#""turning_circle": { "kind": "curb", "diameter": "50 ft" }, "#, "",
    r#"farm.json:4:15: steering: needs "lock_angle_deg" or "turning_circle", such as { "kind": "curb", "diameter": "40 ft" }"#)]
#[case(
    "  \"steering\": { \"turning_circle\": { \"kind\": \"curb\", \"diameter\": \"50 ft\" }, \"lock_distance\": 2 },\n",
    "",
    r#"farm.json:1:1: "steering" is missing; add it: How far the first unit steers."#
)]
#[case(
    ",\n      \"hitch\": { \"behind_axle\": \"5.5 ft\", \"max_angle_deg\": 60 }",
    "",
    r#"farm.json:6:5: units[0]: has no "hitch", but tows another unit; add { "behind_axle", "max_angle_deg" }"#
)]
#[case(
    r#""height": "7 ft""#,
    r#""height": "7 ft", "hitch": { "behind_axle": 1, "max_angle_deg": 60 }"#,
    "farm.json:21:34: units[1].hitch: has nothing to tow: it is on the last unit; take it out, or add the towed unit"
)]
#[case(r#""-4 ft""#, r#""4 ft""#,
    r#"farm.json:20:17: units[1].tongue: needs a towed unit whose body begins behind the hitch (a negative "front_overhang")"#)]
#[case(
    r#""height": "8 ft""#,
    r#""height": "7 in""#,
    "farm.json:6:5: units[0].ground_clearance: is not below the height, 0.178 m"
)]
#[case(
    r#""height": "8 ft""#,
    r#""height": "8 ft", "height": "9 ft""#,
    r#"farm.json:11:25: "height" is given twice; keep one"#
)]
#[case(
    r#""height": "8 ft""#,
    r#""height": NaN"#,
    "farm.json:11:17: is not JSON: expected value (there is no NaN and no infinity; write a plain number)"
)]
#[case(r#""height": "8 ft""#, r#""height": 1e999"#, "farm.json:11:21: is not JSON: number out of range")]
#[case(
    r#""height": "8 ft""#,
    r#""height": "8 ft", "outlines": [ { "points": [[0,0],[1,1],[1,0],[0,1]] } ]"#,
    "farm.json:11:51: units[0].outlines[0].points: the edge after corner 0 crosses or touches the edge after corner 2; go round the outline once, corner by corner"
)]
#[case(r#""height": "8 ft""#, r#""height": "8 ft", "outlines": [ { "points": [[0,0],[9,0],[9,1]] } ]"#,
    "farm.json:11:58: units[0].outlines[0].points[1]: lies outside the unit's own dimensions: x from -1.524 to 5.182, y up to 1.067 to either side
farm.json:11:64: units[0].outlines[0].points[2]: lies outside the unit's own dimensions: x from -1.524 to 5.182, y up to 1.067 to either side")]
#[case(
    r#""height": "8 ft""#,
    r#""height": "8 ft", "outlines": [ { "points": [[0,0],[9,0]] } ]"#,
    "farm.json:11:51: units[0].outlines[0].points: must have at least 3 items, but has 2"
)]
#[case(
    r#""height": "8 ft""#,
    r#""height": "8 ft", "outlines": [ { "points": [["-5 ft", -1], ["16 ft", -1], ["16 ft", 1], ["-5 ft", 1]] } ]"#,
    "farm.json:11:37: units[0].outlines: end 0.305 m short of the front that the unit's dimensions state"
)]
fn one_fault(#[case] find: &str, #[case] replace: &str, #[case] message: &str) {
    let text = SOUND.replacen(find, replace, 1);
    assert_ne!(text, SOUND, "nothing was spoiled");
    assert_eq!(vehicle::read(&text, "farm.json").unwrap_err().to_string(), message);
}

#[test]
fn all_faults_of_a_stage_at_once_in_the_order_of_the_file() {
    let text = SOUND
        .replacen("\"width\": \"9 ft\"", "\"width\": \"6 ft\"", 1)
        .replacen("\"14 ft\"", "0", 1)
        .replacen("\"hitch_to_axle\": \"12 ft\"", "\"hitch_to_axle\": \"12 furlongs\"", 1)
        .replacen("\"curb\", \"diameter\"", "\"curb\", \"radius\": 1, \"diameter\"", 1);
    let faults = vehicle::read(&text, "farm.json").unwrap_err().to_string();
    let places: Vec<&str> = faults.lines().filter_map(|l| l.split(": ").nth(1)).collect();
    assert_eq!(
        places,
        ["steering.turning_circle", "units[0].wheelbase", "units[0].mirrors.width", "units[1].hitch_to_axle"],
        "{faults}"
    );
    // Unknown and missing fields and wrong kinds hide none of them.
    let text = text.replacen("\"title\"", "\"name\"", 1).replacen("\"height\": \"8 ft\"", "\"hight\": []", 1);
    let faults = vehicle::read(&text, "farm.json").unwrap_err().to_string();
    assert_eq!(faults.lines().count(), 4 + places.len(), "{faults}");
    assert!(places.iter().all(|place| faults.contains(place)), "{faults}");
}

/// A value of the wrong kind beside one that is too small: both are reported, and nothing false.
#[test]
fn a_wrong_kind_hides_no_other_fault() {
    let text = SOUND
        .replacen("\"wheelbase\": \"14 ft\"", "\"wheelbase\": true", 1)
        .replacen("\"width\": \"7 ft\"", "\"width\": \"-7 ft\"", 1)
        .replacen("\"kind\": \"curb\"", "\"kind\": 7", 1)
        .replacen("\"max_angle_deg\": 60", "\"max_angle_deg\": \"60\"", 1)
        .replacen("\"hitch_to_axle\": \"12 ft\"", "\"hitch_to_axle\": \"12 feed\"", 1);
    let faults = vehicle::read(&text, "farm.json").unwrap_err().to_string();
    let places: Vec<&str> = faults.lines().filter_map(|l| l.split(": ").nth(1)).collect();
    let expected = [
        "steering.turning_circle.kind",
        "units[0].wheelbase",
        "units[0].width",
        "units[0].hitch.max_angle_deg",
        "units[1].hitch_to_axle",
    ];
    assert_eq!(places, expected, "{faults}");
}

#[rstest]
#[case("", "farm.json:1:1: is empty; a vehicle file is a JSON object with a title, units and steering")]
#[case(" \n ", "farm.json:1:1: is empty; a vehicle file is a JSON object with a title, units and steering")]
#[case(
    "{ \"title\": \"x\",\n \"units\": [",
    "farm.json:2:11: ends in the middle; the file seems to be cut off"
)]
#[case("[]", "farm.json:1:1: must be an object { } that describes a vehicle, but is a list of 0 items")]
#[case(
    "{ \"title\": \"x\", }",
    "farm.json:1:17: is not JSON: trailing comma (is there a comma too many before it?)"
)]
fn the_file_as_a_whole(#[case] text: &str, #[case] message: &str) {
    assert_eq!(vehicle::read(text, "farm.json").unwrap_err().to_string(), message);
}

#[test]
fn a_huge_file_is_refused_unread() {
    let text = format!("{{ \"title\": \"{}\" }}", "x".repeat(vehicle::MAX_FILE_BYTES));
    let message = vehicle::read(&text, "farm.json").unwrap_err().to_string();
    assert!(message.starts_with("farm.json:1:1: is 1048591 bytes long; "), "{message}");
    let deep = "[".repeat(100_000);
    let message = vehicle::read(&deep, "farm.json").unwrap_err().to_string();
    assert!(message.contains("recursion limit"), "{message}");
}

#[test]
fn five_units_are_too_many() {
    let unit = r#"{ "name": "dolly", "hitch_to_axle": 3, "front_overhang": 0, "rear_overhang": 1, "width": 2,
        "height": 1, "hitch": { "behind_axle": 0, "max_angle_deg": 60 } },"#;
    let last = "    { \"name\": \"trailer\"";
    let four = SOUND.replacen(last, &format!("{}{last}", unit.repeat(2)), 1);
    assert_eq!(vehicle::read(&four, "farm.json").map(|v| v.units.len()), Ok(4));
    let five = SOUND.replacen(last, &format!("{}{last}", unit.repeat(3)), 1);
    let message = vehicle::read(&five, "farm.json").unwrap_err().to_string();
    assert_eq!(message, "farm.json:5:12: units: must have 1 to 4 items, but has 5");
}

#[test]
fn an_unknown_name_suggests_the_nearest() {
    let message = vehicle::find("boxtruck-26").unwrap_err().to_string();
    assert!(
        message
            .starts_with("no vehicle named \"boxtruck-26\" in the library (did you mean \"box-truck-26\"?)")
    );
    assert!(vehicle::find("box-truck").is_err(), "a name is not its beginning");
    assert!(!vehicle::find("zeppelin").unwrap_err().to_string().contains("did you mean"));
}

/// No file makes the reader panic: every value of the sound file, replaced in turn by each of a list of odd ones; every
/// truncation of it; and every single letter changed.
#[test]
fn nothing_panics() {
    let odd = [
        "null",
        "true",
        "-1",
        "0",
        "1e308",
        "-1e308",
        "1e-308",
        "3.7",
        "[]",
        "{}",
        "\"\"",
        "\"1 ft\"",
        "\"\\u0000\"",
        "[[0,0],[1,0],[1,1]]",
        "[{}]",
        "\"' \\\"\"",
        "18446744073709551616",
    ];
    let value: serde_json::Value = serde_json::from_str(SOUND).unwrap();
    let mut pointers = Vec::new();
    collect(&value, String::new(), &mut pointers);
    assert_eq!(pointers.len(), 45);
    let mut refused = 0;
    for pointer in &pointers {
        for o in odd {
            let mut changed = value.clone();
            *changed.pointer_mut(pointer).unwrap() = serde_json::from_str(o).unwrap();
            refused += usize::from(vehicle::read(&changed.to_string(), "odd.json").is_err());
        }
    }
    assert!(refused > pointers.len() * odd.len() / 2, "{refused}");
    for i in 0..SOUND.len() {
        let _ = vehicle::read(&SOUND[..i], "cut.json").unwrap_err();
        for letter in ["\"", "{", "9", "-", "é"] {
            let _ = vehicle::read(&format!("{}{letter}{}", &SOUND[..i], &SOUND[i + 1..]), "odd.json");
        }
    }
}

fn collect(value: &serde_json::Value, at: String, out: &mut Vec<String>) {
    match value {
        serde_json::Value::Object(members) => {
            members.iter().for_each(|(k, v)| collect(v, format!("{at}/{}", k.replace('/', "~1")), out));
        }
        serde_json::Value::Array(items) => {
            items.iter().enumerate().for_each(|(i, v)| collect(v, format!("{at}/{i}"), out));
        }
        _ => {}
    }
    out.push(at);
}
