use super::*;

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
    let csv = log.as_csv();
    let rows: Vec<&str> = csv.states.lines().skip(1).collect();
    assert_eq!(
        rows,
        [
            "weld,,2026-03-02T06:00:00Z,2026-03-02T06:00:40Z,working,,,van 1",
            "weld,,2026-03-02T06:00:40Z,2026-03-02T06:01:00Z,stopped,,,van 1",
            "weld,,2026-03-02T06:01:00Z,2026-03-02T06:01:30Z,working,,,van 1",
        ]
    );
    assert_eq!(csv.unpaired, 0);
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
    let csv = json.as_csv();
    assert_eq!(
        csv.states.lines().nth(1).unwrap(),
        "weld,,2026-03-02T06:00:00Z,2026-03-02T06:01:00Z,working,,van,van 1"
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
fn an_end_without_a_beginning_is_counted() {
    let text = XES.replace("\"start\"", "\"complete\"");
    assert_eq!(
        read("day.xes", text.as_bytes())
            .unwrap()
            .unwrap()
            .as_csv()
            .unpaired,
        1
    );
}
