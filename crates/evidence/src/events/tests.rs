use super::*;
use crate::defects::Kind;
use crate::map::LogMap;
use crate::roster::Roster;

/// Two stations in a row; the second has two units.
fn roster() -> Roster {
    let book = book::small::book(
        "[products]
         product,cars_per_week
         van,700
         [stations]
         station,shop,units,cycle_s
         press,body,1,60
         weld,body,2,60
         [links]
         from,to,holds
         press,weld,4",
    );
    let built = whole::network::build(&book).unwrap();
    Roster::of(&book, &built, LogMap::default())
}

/// Events of a trace: item, resource, name, time of 2 March 2026, lifecycle.
fn trace(item: &str, events: &[(&str, &str, &str, &str)]) -> String {
    let event = |(resource, name, time, lifecycle): &(&str, &str, &str, &str)| {
        format!(
            "<event><string key='concept:name' value='{name}'/>\
             <string key='org:resource' value='{resource}'/>\
             <date key='time:timestamp' value='2026-03-02T{time}'/>\
             <string key='lifecycle:transition' value='{lifecycle}'/></event>"
        )
    };
    let events: Vec<String> = events.iter().map(event).collect();
    format!(
        "<trace><string key='concept:name' value='{item}'/>{}</trace>",
        events.concat()
    )
}

fn rows_of(traces: &[String]) -> AsCsv {
    let text = format!("<log>{}</log>", traces.concat());
    read("day.xes", text.as_bytes())
        .unwrap()
        .unwrap()
        .as_csv(&roster())
}

/// The rows of work, without those that say that a unit's last job is done.
fn jobs_of(csv: &AsCsv) -> Vec<&str> {
    let rows = csv.states.lines().skip(1);
    rows.filter(|row| row.contains(",working,")).collect()
}

const XES: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<log xes.version="1849-2016">
  <extension name="Concept" prefix="concept" uri="http://www.xes-standard.org/concept.xesext"/>
  <global scope="event"><string key="concept:name" value="x"/></global>
  <trace>
    <string key="concept:name" value="van 1"/>
    <event>
      <string key="concept:name" value="weld"><string key="note" value="nested"/></string>
      <date key="time:timestamp" value="2026-03-02T06:00:00Z"/>
      <string key="lifecycle:transition" value="start"/>
    </event>
    <event>
      <string key="concept:name" value="weld"/>
      <date key="time:timestamp" value="2026-03-02T06:00:40Z"/>
      <string key="lifecycle:transition" value="suspend"/>
    </event>
    <event>
      <string key="concept:name" value="weld"/>
      <date key="time:timestamp" value="2026-03-02T06:01:00Z"/>
      <string key="lifecycle:transition" value="resume"/>
    </event>
    <event>
      <string key="concept:name" value="anything"/>
      <string key="org:resource" value="weld"/>
      <date key="time:timestamp" value="2026-03-02T06:01:30Z"/>
      <string key="lifecycle:transition" value="complete"/>
    </event>
  </trace>
</log>"#;

#[test]
fn an_xes_log_becomes_rows_of_states() {
    let log = read("day.xes", XES.as_bytes()).unwrap().unwrap();
    let csv = log.as_csv(&roster());
    let rows: Vec<&str> = csv.states.lines().skip(1).collect();
    assert_eq!(
        rows,
        [
            "weld,1,2026-03-02T06:00:00Z,2026-03-02T06:00:40Z,working,,,van 1",
            "weld,1,2026-03-02T06:00:40Z,2026-03-02T06:01:00Z,stopped,,,van 1",
            "weld,1,2026-03-02T06:01:00Z,2026-03-02T06:01:30Z,working,,,van 1",
            // The job is done, though no other follows.
            "weld,1,2026-03-02T06:01:30Z,2026-03-02T06:01:30Z,starved,,,",
        ]
    );
    assert!(csv.odd.is_empty());
    assert_eq!(csv.state_events, [2, 3, 4, 4]);
    assert!(
        csv.genealogy
            .contains("van 1,,2026-03-02T06:00:00Z,2026-03-02T06:01:30Z,")
    );
}

const OCEL: &str = r#"{
  "objectTypes": [{"name": "van", "attributes": []}], "eventTypes": [{"name": "weld", "attributes": []}],
  "objects": [
    {"id": "coil 1", "type": "coil"},
    {"id": "van 1", "type": "van", "relationships": [{"objectId": "coil 1", "qualifier": "made of"}]}],
  "events": [
    {"id": "e1", "type": "weld", "time": "2026-03-02T06:00:00Z",
     "attributes": [{"name": "lifecycle", "value": "start"}],
     "relationships": [{"objectId": "van 1", "qualifier": "car"}]},
    {"id": "e2", "type": "weld", "time": "2026-03-02T06:01:00Z",
     "attributes": [{"name": "lifecycle", "value": "complete"}],
     "relationships": [{"objectId": "van 1", "qualifier": "car"}]}]
}"#;

const OCEL_XML: &str = r#"<?xml version="1.0"?>
<log>
  <object-types><object-type name="van"><attributes/></object-type></object-types>
  <objects>
    <object id="coil 1" type="coil"/>
    <object id="van 1" type="van"><attributes/><objects><relationship object-id="coil 1" qualifier="made of"/></objects></object>
  </objects>
  <events>
    <event id="e1" type="weld" time="2026-03-02T06:00:00Z">
      <attributes><attribute name="lifecycle">start</attribute></attributes>
      <objects><relationship object-id="van 1" qualifier="car"/></objects>
    </event>
    <event id="e2" type="weld" time="2026-03-02T06:01:00Z">
      <attributes><attribute name="lifecycle">complete</attribute></attributes>
      <objects><relationship object-id="van 1" qualifier="car"/></objects>
    </event>
  </events>
</log>"#;

#[test]
fn ocel_says_the_same_as_json_and_as_xml() {
    let json = read("day.json", OCEL.as_bytes()).unwrap().unwrap();
    let xml = read("day.xmlocel", OCEL_XML.as_bytes()).unwrap().unwrap();
    assert_eq!(json, xml);
    let csv = json.as_csv(&roster());
    assert_eq!(
        csv.states.lines().nth(1).unwrap(),
        "weld,1,2026-03-02T06:00:00Z,2026-03-02T06:01:00Z,working,,van,van 1"
    );
    assert!(
        csv.genealogy
            .contains("van 1,van,2026-03-02T06:00:00Z,2026-03-02T06:01:00Z,coil 1")
    );
}

#[test]
fn what_is_no_event_log_is_refused_with_the_way_out() {
    for (file, text) in [
        ("a.xes", "<log"),
        ("a.xes", "<x/>"),
        ("a.json", "{}"),
        ("a.xml", "<a></b>"),
        ("a.json", "\u{feff}"),
    ] {
        let problem = read(file, text.as_bytes()).unwrap().unwrap_err();
        assert_eq!(problem.code, "log/not-understood", "{file} {text}");
    }
    assert_eq!(
        read("a.xes", b"<log></log>").unwrap().unwrap_err().code,
        "log/empty"
    );
    assert_eq!(
        read("a.xes", b"\xff").unwrap().unwrap_err().code,
        "log/not-understood"
    );
    assert!(read("a.csv", b"").is_none());
}

#[test]
fn a_broken_event_log_is_told_with_its_place_and_a_way_out_of_its_own() {
    let refused = |file: &str, text: &str| read(file, text.as_bytes()).unwrap().unwrap_err();
    let cut = refused("a.xes", &XES[..XES.find("</event>").unwrap()]);
    assert_eq!(cut.row, Some(11));
    assert!(
        cut.found.contains("ends within an element `event`"),
        "{cut}"
    );
    assert!(cut.mend.contains("cut off"), "{cut}");
    let twice = refused(
        "a.xes",
        "<log>\n<trace><string key='a' key='b'/></trace></log>",
    );
    assert_eq!((twice.row, twice.column.as_deref()), (Some(2), None));
    assert!(twice.found.contains("element `string`"), "{twice}");
    let entity = refused(
        "a.xes",
        "<log><trace><string key='a' value='&x;'/></trace></log>",
    );
    assert_eq!(entity.column.as_deref(), Some("value"));
    let crossed = refused("a.xml", "<log>\n<events>\n</log>");
    assert_eq!(crossed.row, Some(3));
    assert!(
        crossed.found.contains("within element `events`"),
        "{crossed}"
    );
    let member = refused("a.json", &OCEL.replacen("\"objectId\"", "\"object\"", 2));
    assert!(
        member
            .found
            .starts_with("objects[1] `van 1`, relationships[0]"),
        "{member}"
    );
    let cut = refused("a.json", &OCEL[..200]);
    assert!(cut.row.is_some() && cut.mend.contains("cut off"), "{cut}");
    let syntax = refused("a.json", &OCEL.replacen(':', "", 1));
    assert_eq!(syntax.row, Some(2));
    assert!(syntax.mend.contains("correct that line"), "{syntax}");
    let letter = read("a.xes", b"<log>\n\xff").unwrap().unwrap_err();
    assert_eq!(letter.row, Some(2));
    assert!(letter.mend.contains("UTF-8"), "{letter}");
}

#[test]
fn a_name_with_an_ampersand_is_read_whole() {
    let text = OCEL_XML.replace(
        "<attribute name=\"lifecycle\">start</attribute>",
        "<attribute name=\"lifecycle\">start</attribute>\
         <attribute name=\"resource\">Smith &amp; Sons &#49;</attribute>",
    );
    let log = read("day.xml", text.as_bytes()).unwrap().unwrap();
    assert_eq!(log.events[0].stations[1], "Smith & Sons 1");
}

#[test]
fn an_end_without_a_beginning_is_told_with_its_event() {
    let text = XES.replace("\"start\"", "\"complete\"");
    let log = read("day.xes", text.as_bytes()).unwrap().unwrap();
    let odd = log.as_csv(&roster()).odd;
    let told: Vec<(u64, Kind)> = odd.iter().map(|odd| (odd.event, odd.kind)).collect();
    assert_eq!(told, [(1, Kind::UnpairedEvent)]);
    assert_eq!(odd[0].found, "van 1 ends at weld and did not begin");
}

#[test]
fn stamps_of_two_offsets_are_compared_as_instants() {
    // 08:01+02:00 is 06:01Z.
    let csv = rows_of(&[
        trace(
            "van 1",
            &[
                ("press", "", "06:00:00Z", "start"),
                ("press", "", "06:01:00Z", "complete"),
            ],
        ),
        trace(
            "van 2",
            &[
                ("press", "", "08:01:00+02:00", "start"),
                ("press", "", "06:02:00Z", "complete"),
            ],
        ),
        trace(
            "van 3",
            &[
                ("press", "", "06:02:00Z", "start"),
                ("press", "", "08:03:00+02:00", "complete"),
            ],
        ),
    ]);
    let items: Vec<&str> = jobs_of(&csv)
        .iter()
        .filter_map(|row| row.rsplit(',').next())
        .collect();
    assert_eq!(items, ["van 1", "van 2", "van 3"]);
    assert!(
        csv.genealogy
            .contains("van 2,,2026-03-02T08:01:00+02:00,,\n"),
        "{}",
        csv.genealogy
    );
}

#[test]
fn a_car_is_finished_where_cars_leave_the_plant_and_nowhere_else() {
    let csv = rows_of(&[
        trace(
            "on its way",
            &[
                ("press", "", "06:00:00Z", "start"),
                ("press", "", "06:01:00Z", "complete"),
            ],
        ),
        trace(
            "out",
            &[
                ("press", "", "06:01:00Z", "start"),
                ("press", "", "06:02:00Z", "complete"),
                ("weld", "", "06:03:00Z", "start"),
                ("weld", "", "06:04:00Z", "complete"),
            ],
        ),
        trace(
            "back again",
            &[
                ("weld", "", "06:03:00Z", "start"),
                ("weld", "", "06:04:00Z", "complete"),
                ("press", "", "06:05:00Z", "start"),
                ("press", "", "06:06:00Z", "complete"),
            ],
        ),
        trace("told", &[("press", "", "06:06:00Z", "start")]).replace(
            "<event>",
            "<date key='finished' value='2026-03-02T07:00:00Z'/><event>",
        ),
    ]);
    let ends: Vec<(&str, &str)> = csv
        .genealogy
        .lines()
        .skip(1)
        .map(|row| {
            let cells: Vec<&str> = row.split(',').collect();
            (cells[0], cells[3])
        })
        .collect();
    assert_eq!(
        ends,
        [
            ("back again", ""),
            ("on its way", ""),
            ("out", "2026-03-02T06:04:00Z"),
            ("told", "2026-03-02T07:00:00Z"),
        ]
    );
}

#[test]
fn a_person_as_resource_hides_no_station_and_units_are_shared_out() {
    let weld = |item: &str, from: &str, to: &str| {
        trace(
            item,
            &[
                ("Anna", "weld", from, "start"),
                ("Ben", "weld", to, "complete"),
            ],
        )
    };
    let csv = rows_of(&[
        weld("1", "06:00:00Z", "06:02:00Z"),
        weld("2", "06:01:00Z", "06:03:00Z"),
        weld("3", "06:02:00Z", "06:04:00Z"),
        weld("4", "06:03:00Z", "06:05:00Z").replace(
            "<string key='org:resource'",
            "<string key='unit' value='1'/><string key='org:resource'",
        ),
    ]);
    let units: Vec<&str> = jobs_of(&csv).iter().map(|row| &row[..6]).collect();
    assert_eq!(units, ["weld,1", "weld,2", "weld,1", "weld,1"]);
}

#[test]
fn of_several_objects_the_car_is_taken_or_it_is_told() {
    let coil_first = OCEL.replace(
        r#""relationships": [{"objectId": "van 1", "qualifier": "car"}]"#,
        r#""relationships": [{"objectId": "coil 1", "qualifier": "uses"}, {"objectId": "van 1", "qualifier": "car"}]"#,
    );
    let log = read("day.json", coil_first.as_bytes()).unwrap().unwrap();
    let csv = log.as_csv(&roster());
    assert!(csv.odd.is_empty());
    let row = csv.states.lines().nth(1).unwrap();
    assert!(row.ends_with("working,,van,van 1"), "{row}");
    // Of a type that no product is called by, what nothing else is made of.
    let unknown = coil_first.replace(r#""type": "van""#, r#""type": "x""#);
    let log = read("day.json", unknown.as_bytes()).unwrap().unwrap();
    let csv = log.as_csv(&roster());
    assert!(csv.odd.is_empty());
    assert!(csv.states.lines().nth(1).unwrap().ends_with("van 1"));
    // Neither: the first, and it is told.
    let loose = unknown.replace(
        r#", "relationships": [{"objectId": "coil 1", "qualifier": "made of"}]}"#,
        "}",
    );
    let log = read("day.json", loose.as_bytes()).unwrap().unwrap();
    let csv = log.as_csv(&roster());
    assert_eq!(csv.odd.len(), 2);
    assert_eq!(csv.odd[0].kind, Kind::ManyItems);
    assert_eq!(csv.odd[0].found, "coil 1 of 2 objects");
}
