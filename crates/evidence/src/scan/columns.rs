//! Column batches into rows: a word of a dictionary is looked up once, not once
//! a row.

use std::collections::BTreeMap;

use arrow_array::cast::AsArray;
use arrow_array::types::{
    ArrowPrimitiveType, Int8Type, Int16Type, Int32Type, Int64Type, TimestampMicrosecondType,
    TimestampMillisecondType, TimestampNanosecondType, TimestampSecondType, UInt8Type, UInt16Type,
    UInt32Type, UInt64Type,
};
use arrow_array::{Array, RecordBatch};
use arrow_schema::{DataType, TimeUnit};

use super::parse::{Words, between, shown, state, whole};
use super::{Chunk, Header, NO_WORD, OPEN_END, Row};
use crate::defects::{Kind, Place};
use crate::roster::{Roster, as_u32, hash};
use crate::time::{DAY, Meaning, Micros, SECOND, Stamps, Zone, days};

/// A word that no row had yet.
const NOT_SEEN: u32 = u32::MAX - 1;

/// Words and numbers of a column, each once.
struct Coded {
    /// For each row its word; [`NO_WORD`] for an empty cell.
    keys: Vec<u32>,
    words: Vec<Vec<u8>>,
}

impl Coded {
    /// A column that is not there.
    fn absent(rows: usize) -> Self {
        Self {
            keys: vec![NO_WORD; rows],
            words: Vec::new(),
        }
    }

    /// Of a column; none for a kind of column that holds neither words nor
    /// whole numbers.
    fn of(array: &dyn Array) -> Option<Self> {
        if let DataType::Dictionary(key, _) = array.data_type() {
            if **key != DataType::Int32 {
                return None;
            }
            let coded = array.as_dictionary::<Int32Type>();
            let words = texts(coded.values().as_ref())?;
            let key = |key: &i32| u32::try_from(*key).unwrap_or(NO_WORD);
            let mut keys: Vec<u32> = coded.keys().values().iter().map(key).collect();
            if let Some(nulls) = coded.nulls() {
                let empty = (0..keys.len()).filter(|row| nulls.is_null(*row));
                empty.for_each(|row| keys[row] = NO_WORD);
            }
            return Some(Self { keys, words });
        }
        if let Some(coded) = Self::of_numbers(array) {
            return Some(coded);
        }
        let mut words = Words::default();
        let texts = texts(array)?;
        let keys = texts.iter().map(|text| words.id(text, 0));
        Some(Self {
            keys: keys.map(|id| id.unwrap_or(NO_WORD)).collect(),
            words: words.list,
        })
    }

    /// Of a column of whole numbers, each written down once.
    fn of_numbers(array: &dyn Array) -> Option<Self> {
        fn coded<T>(array: &dyn Array) -> Coded
        where
            T: ArrowPrimitiveType,
            T::Native: std::fmt::Display + Into<i128>,
        {
            let mut ids: BTreeMap<i128, u32> = BTreeMap::new();
            let mut words = Vec::new();
            // Most rows have the number of the row above.
            let mut last = (0, NO_WORD);
            let mut key = |number: T::Native| {
                let wide: i128 = number.into();
                if last.0 != wide || last.1 == NO_WORD {
                    let id = *ids.entry(wide).or_insert_with(|| {
                        words.push(number.to_string().into_bytes());
                        as_u32(words.len() - 1)
                    });
                    last = (wide, id);
                }
                last.1
            };
            let cells = array.as_primitive::<T>().iter();
            let keys = cells.map(|cell| cell.map_or(NO_WORD, &mut key)).collect();
            Coded { keys, words }
        }
        Some(match array.data_type() {
            DataType::Int8 => coded::<Int8Type>(array),
            DataType::Int16 => coded::<Int16Type>(array),
            DataType::Int32 => coded::<Int32Type>(array),
            DataType::Int64 => coded::<Int64Type>(array),
            DataType::UInt8 => coded::<UInt8Type>(array),
            DataType::UInt16 => coded::<UInt16Type>(array),
            DataType::UInt32 => coded::<UInt32Type>(array),
            DataType::UInt64 => coded::<UInt64Type>(array),
            _ => return None,
        })
    }

    #[inline]
    fn text(&self, row: usize) -> &[u8] {
        self.words
            .get(self.keys[row] as usize)
            .map_or(b"", Vec::as_slice)
    }
}

/// Every cell as text; an empty one for none.
fn texts(array: &dyn Array) -> Option<Vec<Vec<u8>>> {
    fn numbers<T>(array: &dyn Array) -> Vec<Vec<u8>>
    where
        T: ArrowPrimitiveType,
        T::Native: std::fmt::Display,
    {
        let text = |n: Option<T::Native>| n.map_or_else(Vec::new, |n| n.to_string().into_bytes());
        array.as_primitive::<T>().iter().map(text).collect()
    }
    fn bytes<'a, T: AsRef<[u8]> + 'a>(cells: impl Iterator<Item = Option<T>>) -> Vec<Vec<u8>> {
        let text = |cell: Option<T>| cell.map_or_else(Vec::new, |cell| cell.as_ref().to_vec());
        cells.map(text).collect()
    }
    Some(match array.data_type() {
        DataType::Utf8 => bytes(array.as_string::<i32>().iter()),
        DataType::LargeUtf8 => bytes(array.as_string::<i64>().iter()),
        DataType::Binary => bytes(array.as_binary::<i32>().iter()),
        DataType::Int8 => numbers::<Int8Type>(array),
        DataType::Int16 => numbers::<Int16Type>(array),
        DataType::Int32 => numbers::<Int32Type>(array),
        DataType::Int64 => numbers::<Int64Type>(array),
        DataType::UInt8 => numbers::<UInt8Type>(array),
        DataType::UInt16 => numbers::<UInt16Type>(array),
        DataType::UInt32 => numbers::<UInt32Type>(array),
        DataType::UInt64 => numbers::<UInt64Type>(array),
        DataType::Null => vec![Vec::new(); array.len()],
        _ => return None,
    })
}

/// Every cell of a smaller table as a CSV file would have it; none for a kind
/// of column that no table of a log has.
pub(crate) fn cells(array: &dyn Array) -> Option<Vec<Vec<u8>>> {
    let DataType::Timestamp(_, zone) = array.data_type() else {
        return texts(array);
    };
    let universal = if zone.is_some() { "Z" } else { "" };
    let stamped = Stamped::of(array)?;
    let Stamped::Numbers { values, unit, .. } = stamped else {
        return None;
    };
    let text = |row: usize| {
        if array.is_null(row) {
            return Vec::new();
        }
        match micros(values[row], unit) {
            None => values[row].to_string().into_bytes(),
            Some(at) => {
                let fraction = at.rem_euclid(SECOND);
                format!("{}.{fraction:06}{universal}", Zone::default().show(at)).into_bytes()
            }
        }
    };
    Some((0..array.len()).map(text).collect())
}

/// The stamps of a column.
enum Stamped<'a> {
    /// Numbers since 1970.
    Numbers {
        values: &'a [i64],
        array: &'a dyn Array,
        unit: TimeUnit,
        /// Of universal time; else a reading of the plant's clock.
        universal: bool,
    },
    /// Words, as in a CSV file.
    Words(Vec<Vec<u8>>),
}

/// A cell of a stamp.
#[derive(Clone, Copy)]
enum Stamp {
    /// Nothing stands there.
    Empty,
    /// Not to be understood.
    Bad,
    /// Understood.
    At(Meaning),
}

impl<'a> Stamped<'a> {
    /// Of a column; none for a kind of column that holds no stamps.
    fn of(array: &'a dyn Array) -> Option<Self> {
        let DataType::Timestamp(unit, zone) = array.data_type() else {
            return match array.data_type() {
                DataType::Utf8 | DataType::LargeUtf8 | DataType::Binary | DataType::Null => {
                    texts(array).map(Self::Words)
                }
                _ => None,
            };
        };
        let values: &[i64] = match unit {
            TimeUnit::Second => array.as_primitive::<TimestampSecondType>().values(),
            TimeUnit::Millisecond => array.as_primitive::<TimestampMillisecondType>().values(),
            TimeUnit::Microsecond => array.as_primitive::<TimestampMicrosecondType>().values(),
            TimeUnit::Nanosecond => array.as_primitive::<TimestampNanosecondType>().values(),
        };
        Some(Self::Numbers {
            values,
            array,
            unit: *unit,
            universal: zone.is_some(),
        })
    }

    /// The stamp of a row.
    #[inline]
    fn at(&self, row: usize, stamps: &mut Stamps) -> Stamp {
        match self {
            Self::Words(words) => match words[row].as_slice() {
                b"" => Stamp::Empty,
                text => stamps.read(text).map_or(Stamp::Bad, Stamp::At),
            },
            Self::Numbers {
                values,
                array,
                unit,
                universal,
            } => {
                if array.is_null(row) {
                    return Stamp::Empty;
                }
                match micros(values[row], *unit) {
                    None => Stamp::Bad,
                    Some(at) if *universal => Stamp::At(Meaning::Clear(at)),
                    Some(local) => Stamp::At(stamps.clock(local)),
                }
            }
        }
    }

    /// The cell as a message shows it.
    #[cold]
    fn shown(&self, row: usize) -> String {
        match self {
            Self::Words(words) => shown(&words[row]),
            Self::Numbers { array, .. } if array.is_null(row) => String::new(),
            Self::Numbers {
                values,
                unit,
                universal,
                ..
            } => match micros(values[row], *unit) {
                None => values[row].to_string(),
                Some(at) if *universal => format!("{}Z", Zone::default().show(at)),
                Some(local) => Zone::default().show(local),
            },
        }
    }
}

/// A number since 1970 in microseconds; none outside the years 0 to 9999, of
/// which a date can be written.
#[inline]
fn micros(value: i64, unit: TimeUnit) -> Option<Micros> {
    const FIRST: Micros = days(0, 1, 1) * DAY;
    const LAST: Micros = days(10_000, 1, 1) * DAY;
    let at = match unit {
        TimeUnit::Second => value.checked_mul(SECOND)?,
        TimeUnit::Millisecond => value.checked_mul(SECOND / 1_000)?,
        TimeUnit::Microsecond => value,
        TimeUnit::Nanosecond => value.div_euclid(1_000),
    };
    (FIRST..LAST).contains(&at).then_some(at)
}

/// The items of a column, as [`Row::item`] has them: a number counts as its
/// digits, so that the same log reads the same from either kind of file.
enum Items<'a> {
    Absent,
    Numbers(&'a dyn Array, &'a [i64]),
    Words(&'a dyn Array),
    Other(Vec<Vec<u8>>),
}

impl<'a> Items<'a> {
    fn of(array: &'a dyn Array) -> Option<Self> {
        Some(match array.data_type() {
            DataType::Int64 => Self::Numbers(array, array.as_primitive::<Int64Type>().values()),
            DataType::Utf8 => Self::Words(array),
            _ => Self::Other(texts(array)?),
        })
    }

    #[inline]
    fn at(&self, row: usize) -> u64 {
        let of = |text: &[u8]| if text.is_empty() { 0 } else { hash(text) };
        match self {
            Self::Absent => 0,
            Self::Numbers(array, _) | Self::Words(array) if array.is_null(row) => 0,
            Self::Numbers(_, values) => number(values[row]),
            Self::Words(array) => of(array.as_string::<i32>().value(row).as_bytes()),
            Self::Other(texts) => of(&texts[row]),
        }
    }
}

/// The hash of a number's digits.
#[inline]
fn number(value: i64) -> u64 {
    let mut digits = [0_u8; 20];
    let mut at = digits.len();
    let mut rest = value.unsigned_abs();
    loop {
        at -= 1;
        digits[at] = b'0' + u8::try_from(rest % 10).unwrap_or(0);
        rest /= 10;
        if rest == 0 {
            break;
        }
    }
    if value < 0 {
        at -= 1;
        digits[at] = b'-';
    }
    hash(&digits[at..])
}

/// Batches of columns into the rows of a chunk.
pub struct Columns<'a> {
    roster: &'a Roster,
    file: &'a str,
    from: Stamps,
    to: Stamps,
    words: Words,
    chunk: Chunk,
    shards: u32,
}

/// The columns of one batch.
struct Batch<'b> {
    station: Coded,
    unit: Coded,
    state: Coded,
    cause: Coded,
    product: Coded,
    from: Stamped<'b>,
    to: Option<Stamped<'b>>,
    items: Items<'b>,
}

/// What the words of a batch mean, each looked up once.
struct Meanings {
    places: Vec<Option<u32>>,
    units: Vec<Option<u64>>,
    states: Vec<Option<u8>>,
    causes: Vec<u32>,
    products: Vec<u32>,
}

impl<'a> Columns<'a> {
    /// For a chunk of about so many rows.
    pub fn new(roster: &'a Roster, file: &'a str, shards: u32, rows: usize) -> Self {
        let each = rows / shards as usize;
        Self {
            roster,
            file,
            from: Stamps::new(roster.map.zone),
            to: Stamps::new(roster.map.zone),
            words: Words::default(),
            chunk: Chunk {
                rows: vec![Vec::with_capacity(each + each / 4); shards as usize],
                ..Chunk::default()
            },
            shards,
        }
    }

    /// Adds a batch; `role` says of each of its columns which it is.
    ///
    /// # Errors
    /// The position of a column whose kind cannot be read.
    pub fn add(&mut self, batch: &RecordBatch, role: &[Option<usize>]) -> Result<(), usize> {
        let rows = batch.num_rows();
        let column = |wanted: usize| {
            let at = role.iter().position(|role| *role == Some(wanted));
            at.map(|at| (at, batch.column(at).as_ref()))
        };
        let coded = |wanted: usize| match column(wanted) {
            Some((at, array)) => Coded::of(array).ok_or(at),
            None => Ok(Coded::absent(rows)),
        };
        let stamped = |wanted: usize| match column(wanted) {
            Some((at, array)) => Stamped::of(array).map(Some).ok_or(at),
            None => Ok(None),
        };
        let batch = Batch {
            station: coded(Header::STATION)?,
            unit: coded(Header::UNIT)?,
            state: coded(Header::STATE)?,
            cause: coded(Header::CAUSE)?,
            product: coded(Header::PRODUCT)?,
            from: stamped(Header::FROM)?.ok_or(usize::MAX)?,
            to: stamped(Header::TO)?,
            items: match column(Header::ITEM) {
                Some((at, array)) => Items::of(array).ok_or(at)?,
                None => Items::Absent,
            },
        };
        let roster = self.roster;
        let station = |word: &Vec<u8>| roster.station(word.trim_ascii());
        let unit = |word: &Vec<u8>| match word.as_slice() {
            b"" => Some(1),
            word => whole(word),
        };
        let mut meanings = Meanings {
            places: batch.station.words.iter().map(station).collect(),
            units: batch.unit.words.iter().map(unit).collect(),
            states: (batch.state.words.iter())
                .map(|word| state(roster, word))
                .collect(),
            causes: vec![NOT_SEEN; batch.cause.words.len()],
            products: vec![NOT_SEEN; batch.product.words.len()],
        };
        for row in 0..rows {
            self.row(&batch, &mut meanings, row);
            self.chunk.lines += 1;
        }
        Ok(())
    }

    /// The rows of all batches.
    pub fn finish(mut self) -> Chunk {
        self.chunk.words = self.words.list;
        self.chunk
    }

    /// One row; what is wrong with it is judged in the same order as in a CSV
    /// file.
    #[inline]
    fn row(&mut self, batch: &Batch<'_>, meanings: &mut Meanings, row: usize) {
        let known = meanings.places.get(batch.station.keys[row] as usize);
        let Some(place) = known.copied().flatten() else {
            let name = batch.station.text(row).trim_ascii();
            return self.unknown(Kind::UnknownStation, "station", name);
        };
        let place = &self.roster.places[place as usize];
        let unit = match meanings.units.get(batch.unit.keys[row] as usize) {
            None => 1,
            Some(unit) => match unit.filter(|n| (1..=u64::from(place.units)).contains(n)) {
                Some(unit) => unit,
                None => {
                    let found = shown(batch.unit.text(row));
                    return self.wrong(Kind::UnknownUnit, "unit", found);
                }
            },
        };
        let known = meanings.states.get(batch.state.keys[row] as usize);
        let Some(state) = known.copied().flatten() else {
            return self.unknown(Kind::UnknownState, "state", batch.state.text(row));
        };
        let Stamp::At(from) = batch.from.at(row, &mut self.from) else {
            return self.wrong(Kind::BadStamp, "from", batch.from.shown(row));
        };
        let to = match &batch.to {
            None => None,
            Some(to) => match to.at(row, &mut self.to) {
                Stamp::Empty => None,
                Stamp::At(to) => Some(to),
                Stamp::Bad => return self.wrong(Kind::BadStamp, "to", to.shown(row)),
            },
        };
        let Some((from, to, doubled)) = between(from, to) else {
            return self.wrong(Kind::MissingHour, "from", batch.from.shown(row));
        };
        if doubled != 0 {
            self.wrong(Kind::DoubledHour, "from", batch.from.shown(row));
        }
        if to != OPEN_END && to < from {
            let found = batch.to.as_ref().map(|to| to.shown(row));
            return self.wrong(Kind::ClockBack, "to", found.unwrap_or_default());
        }
        let cause = self.word(&batch.cause, &mut meanings.causes, row, 0);
        let product = self.word(&batch.product, &mut meanings.products, row, 1);
        let (Some(cause), Some(product)) = (cause, product) else {
            return self.wrong(Kind::BadRow, "cause", shown(batch.cause.text(row)));
        };
        let unit = place.first_unit + u32::try_from(unit - 1).unwrap_or(0);
        self.chunk.rows[(unit % self.shards) as usize].push(Row {
            from,
            to,
            item: batch.items.at(row),
            line: as_u32(usize::try_from(self.chunk.lines).unwrap_or(usize::MAX)),
            unit,
            cause,
            product,
            state,
            doubled,
        });
    }

    /// The number of a row's word in the chunk, given when a row first has it:
    /// a dictionary may hold words that no row has.
    #[inline]
    fn word(&mut self, column: &Coded, ids: &mut [u32], row: usize, which: usize) -> Option<u32> {
        let Some(id) = ids.get_mut(column.keys[row] as usize) else {
            return Some(NO_WORD);
        };
        if *id == NOT_SEEN {
            let text = column.text(row);
            let text = if which == 0 {
                self.roster.map.cause(text)
            } else {
                text
            };
            *id = self.words.id(text, which)?;
        }
        Some(*id)
    }

    #[cold]
    fn wrong(&mut self, kind: Kind, column: &str, found: String) {
        let (file, row) = (self.file, self.chunk.lines);
        self.chunk.defects.add(kind, || Place {
            file: file.to_owned(),
            row,
            column: column.to_owned(),
            found,
        });
    }

    #[cold]
    fn unknown(&mut self, kind: Kind, column: &str, word: &[u8]) {
        let word = shown(word);
        self.chunk.defects.word(kind, &word);
        self.wrong(kind, column, word);
    }
}
