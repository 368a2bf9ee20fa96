//! A small book: shifts, products, stations and links only.

use book::raw::Workbook;

pub(crate) const SMALL: &str = "\
[shifts]
shop,shift,days,start,end,planned_stops_min
Body,early,mon-fri,06:00,14:00,30
Body,late,mon-fri,14:00,22:00,30
Final,day,mon-fri,07:00,15:30,30
[products]
product,cars_per_week
Tern,300
Heron,200
[stations]
station,shop,cycle_s,first_time_ok,rework_to
weld,Body,240,,
hang,Body,250,,
inspect,Final,200,95 %,repair
repair,Final,600,,
[links]
from,to,holds,share
weld,hang,3,
hang,inspect,20,
inspect,repair,2,
repair,inspect,2,
inspect,ship,unlimited,
[stations+]
ship,Final,10,,
";

/// The tables written one after the other, each below its `[name]`. A table
/// given again replaces the first; `[name+]` adds rows to it.
pub(crate) fn workbook(texts: &[&str]) -> Workbook {
    let mut tables: Vec<(String, String)> = Vec::new();
    for text in texts {
        let mut current = None;
        for line in text.lines() {
            let Some(name) = line
                .strip_prefix('[')
                .and_then(|line| line.strip_suffix(']'))
            else {
                let index: usize = current.expect("rows stand below a [table]");
                let (_, rows): &mut (String, String) = &mut tables[index];
                rows.push_str(line);
                rows.push('\n');
                continue;
            };
            let plain = name.trim_end_matches('+');
            let index = tables.iter().position(|(known, _)| known == plain);
            let index = index.unwrap_or_else(|| {
                tables.push((plain.to_owned(), String::new()));
                tables.len() - 1
            });
            if plain == name {
                tables[index].1.clear();
            }
            current = Some(index);
        }
    }
    let read = |(name, text): &(String, String)| {
        book::read_csv_bytes(&format!("{name}.csv"), text.as_bytes()).expect("a table")
    };
    Workbook {
        name: "small".into(),
        tables: tables
            .iter()
            .filter(|(_, text)| !text.is_empty())
            .map(read)
            .collect(),
        problems: Vec::new(),
    }
}

#[test]
fn a_book_of_shifts_products_stations_and_links_is_enough() {
    let checked = book::check(&workbook(&[SMALL]));
    assert_eq!(checked.problems, []);
    assert!(checked.holds());

    let book = checked.book;
    assert_eq!(book.plant.name.value, "small");
    assert_eq!(book.plant.weeks_per_year.value, 48.0);
    let inspect = &book.stations[2];
    assert_eq!(inspect.station, "inspect");
    assert_eq!(inspect.at.to_string(), "stations row 4");
    assert_eq!(inspect.ok().0, 0.95);
    assert_eq!(inspect.rework_to.as_deref(), Some("repair"));
    assert_eq!(inspect.units, 1);
    assert_eq!(book.links[4].holds, book::Holds::Unlimited);
    assert_eq!(book.shifts[2].days.count(), 5);
    assert_eq!(book.shifts[2].end.to_string(), "15:30");
}
