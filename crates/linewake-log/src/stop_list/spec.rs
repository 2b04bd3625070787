//! The mapping file as typed, before any rule is checked: [`MappingSpec`] and its parts.

use linewake_model::quantity::{Quantity, Rate, Time};
use linewake_model::spec::json::Json;
use linewake_model::spec::typed::{Reader, Typed, Value, spec_object, spec_tagged, spec_words, typed_by_tag};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use std::borrow::Cow;

spec_object! {
    /// What the columns, times, machines and reasons of a plant's stop list mean.
    pub struct MappingSpec {
        /// Where the schema of this file is, for editors; the program does not read it.
        pub schema = "$schema": Option<String>,
        /// Version of the format: 1.
        #[schemars(range(min = 1, max = 1))]
        pub mapping_version: u32,
        /// Name of the line.
        pub name: String,
        /// Where the list comes from.
        pub about: Option<String>,
        /// Time zone of the plant's clock, as in the IANA database: "Europe/Berlin".
        pub time_zone: String,
        /// Design rate of the line in packs; required unless a model lies alongside.
        pub design_rate: Option<Quantity<Rate>>,
        /// Id of the station on which the OEE is judged (default: the former, or the only station).
        pub constraint: Option<String>,
        /// Id of the station whose hand-over makes a pack good (default: the last gate, else the robot, else the last
        /// station).
        pub good_after: Option<String>,
        /// Shortest interruption of the constraint that counts against availability (default 300 s).
        pub short_stop_limit: Option<Quantity<Time>>,
        /// When the line is planned to work.
        pub shifts: ShiftsSpec,
        /// The stations in line order.
        pub stations: Vec<StationSpec>,
        /// What the reasons of the list mean; without it every word is an own stop.
        pub reasons: Option<Vec<ReasonSpec>>,
        /// The stop list.
        pub stops: StopsSpec,
        /// The counts, in the same file or in one of their own.
        pub counts: Option<CountsSpec>,
    }
}

spec_object! {
    /// A station, and the names by which the list calls it.
    pub struct StationSpec {
        /// Its id in the report (in a model that lies alongside: of that station).
        pub id: String,
        /// Its kind, as in a model file (default: machine).
        pub kind: Option<String>,
        /// How the list calls it, besides its id; blanks around and the case of letters do not matter.
        pub names: Option<Vec<String>>,
        /// Best rate in packs, where it has one: names the slowest station.
        pub rate: Option<Quantity<Rate>>,
        /// Empty-line transit time between it and the constraint (default 0 s).
        pub transit_to_constraint: Option<Quantity<Time>>,
        /// Who supplies it.
        pub supplier: Option<String>,
    }
}

spec_object! {
    /// A reason, and the words by which the list calls it.
    pub struct ReasonSpec {
        /// Its word in the report.
        pub reason: String,
        /// How the list calls it, besides that word; blanks around and the case of letters do not matter.
        pub names: Option<Vec<String>>,
        /// What it means (default: own_stop).
        pub is: Option<EffectSpec>,
        /// It stops all stations, whichever machine the row names (default false).
        pub whole_line: Option<bool>,
    }
}

spec_words! {
    /// What a row with a reason says of its machine.
    pub enum EffectSpec {
        /// The machine stopped by itself.
        OwnStop = "own_stop",
        /// A planned stop that counts as downtime.
        Planned = "planned",
        /// A planned stop that is left out of planned production time.
        PlannedLeftOut = "planned_left_out",
        /// The machine waited for product.
        Starved = "starved",
        /// The machine waited for room behind it.
        Blocked = "blocked",
    }
}

spec_tagged! {
    /// Shifts that come each day, or stated ones.
    pub enum ShiftsSpec called "way of stating shifts" {
        /// The same times on each day on which a row lies in them.
        Daily = "daily" (Vec<DailyShiftSpec>),
        /// These, on their dates.
        Dated = "dated" (Vec<DatedShiftSpec>),
    }
}
typed_by_tag!(ShiftsSpec);

spec_object! {
    /// A shift of each day.
    pub struct DailyShiftSpec {
        /// Its name.
        pub name: String,
        /// Start on the plant's clock, "06:00" or "06:00:00".
        pub start: String,
        /// End on the plant's clock; not after the start means the next day.
        pub end: String,
        /// Breaks of the whole line, left out of planned production time.
        pub breaks: Option<Vec<BreakSpec>>,
    }
}

spec_object! {
    /// A shift on its date.
    pub struct DatedShiftSpec {
        /// Its name.
        pub name: String,
        /// Start on the plant's clock, "2026-03-02 06:00".
        pub start: String,
        /// End on the plant's clock.
        pub end: String,
        /// Breaks of the whole line, left out of planned production time; with their dates.
        pub breaks: Option<Vec<BreakSpec>>,
    }
}

spec_object! {
    /// A break of the whole line, written like the start and end of its shift.
    pub struct BreakSpec {
        /// Start on the plant's clock.
        pub start: String,
        /// End on the plant's clock.
        pub end: String,
    }
}

spec_object! {
    /// How a file is written.
    pub struct FormSpec {
        /// Text encoding (default: utf-8).
        pub encoding: Option<EncodingSpec>,
        /// The character between cells (default ",").
        pub delimiter: Option<String>,
        /// Lines above the headings that are skipped (default 0).
        pub skip_lines: Option<u32>,
        /// The first row has the headings (default true).
        pub headings: Option<bool>,
        /// The mark before decimals, "." or "," (default ".").
        pub decimal: Option<String>,
        /// The mark between thousands: ".", ",", "'" or " " (default: none).
        pub thousands: Option<String>,
        /// Forms of its times, in the notation of strptime, such as "%d.%m.%Y %H:%M"; the first is the usual one.
        pub times: Vec<String>,
    }
}

spec_words! {
    /// Text encoding.
    pub enum EncodingSpec {
        /// UTF-8.
        Utf8 = "utf-8",
        /// Windows-1252, as older spreadsheets write it.
        Windows1252 = "windows-1252",
    }
}

spec_object! {
    /// The stop list.
    pub struct StopsSpec {
        /// How the file is written.
        pub form: FormSpec,
        /// Where things stand.
        pub columns: StopColumnsSpec,
        /// How durations are written (default: min).
        pub duration: Option<DurationSpec>,
        /// What a stop without end and duration means (default: leave_out).
        pub without_end: Option<WithoutEndSpec>,
        /// No stop is longer than this (default 24 h).
        pub longest: Option<Quantity<Time>>,
    }
}

spec_object! {
    /// Columns of the stop list, each by its heading or its place from 1.
    pub struct StopColumnsSpec {
        /// The machine (default: all rows are of the constraint).
        pub machine: Option<ColumnSpec>,
        /// What tells machines of one name apart; the name is then looked up as "area / machine" first.
        pub area: Option<ColumnSpec>,
        /// The date, if start and end have none.
        pub date: Option<ColumnSpec>,
        /// The start.
        pub start: Option<ColumnSpec>,
        /// The end.
        pub end: Option<ColumnSpec>,
        /// The duration.
        pub duration: Option<ColumnSpec>,
        /// The reason.
        pub reason: Option<ColumnSpec>,
    }
}

spec_words! {
    /// How durations are written.
    pub enum DurationSpec {
        /// Seconds.
        Seconds = "s",
        /// Minutes.
        Minutes = "min",
        /// Hours.
        Hours = "h",
        /// Hours and minutes, 1:05.
        HoursMinutes = "h:mm",
        /// Hours, minutes and seconds, 1:05:30.
        HoursMinutesSeconds = "h:mm:ss",
        /// Minutes and seconds, 5:30.
        MinutesSeconds = "mm:ss",
    }
}

spec_words! {
    /// What a stop without end and duration means.
    pub enum WithoutEndSpec {
        /// It is left out.
        LeaveOut = "leave_out",
        /// It lasts until the next stop of that machine, or until the end of its shift.
        UntilNextStop = "until_next_stop",
    }
}

spec_object! {
    /// The counts.
    pub struct CountsSpec {
        /// How their file is written (default: as the stop list).
        pub form: Option<FormSpec>,
        /// They stand in the stop list: which of its rows they are.
        pub rows_of_stop_list: Option<RowChoiceSpec>,
        /// Where things stand.
        pub columns: CountColumnsSpec,
        /// Length of the period that begins at the start, if there is no end.
        pub period: Option<Quantity<Time>>,
        /// What the figures are.
        pub are: CountsAreSpec,
        /// The columns with figures.
        pub values: Vec<CountValueSpec>,
    }
}

spec_object! {
    /// Rows with one of these words in this column.
    pub struct RowChoiceSpec {
        /// The column.
        pub column: ColumnSpec,
        /// The words.
        pub words: Vec<String>,
    }
}

spec_object! {
    /// Columns that say when and where was counted, each by its heading or its place from 1.
    pub struct CountColumnsSpec {
        /// The date, if start and end have none, or with the shift.
        pub date: Option<ColumnSpec>,
        /// Start of the period.
        pub start: Option<ColumnSpec>,
        /// End of the period.
        pub end: Option<ColumnSpec>,
        /// Name of the shift that was counted, which starts on the date.
        pub shift: Option<ColumnSpec>,
        /// The machine, for values of the kind made.
        pub machine: Option<ColumnSpec>,
    }
}

spec_words! {
    /// What the figures of the counts are.
    pub enum CountsAreSpec {
        /// What was counted in the period.
        Increments = "increments",
        /// A running total; its first reading is where counting begins.
        Totals = "totals",
        /// A running total that begins at 0 with each shift.
        TotalsOfShift = "totals_of_shift",
    }
}

spec_object! {
    /// A column with figures.
    pub struct CountValueSpec {
        /// The column.
        pub column: ColumnSpec,
        /// What it counts.
        pub counts: CountedSpec,
        /// Where: for rejected (default: the station of good_after) and made (default: the machine of the row).
        pub station: Option<String>,
        /// Why, for rejected.
        pub reason: Option<String>,
    }
}

spec_words! {
    /// What a column counts.
    pub enum CountedSpec {
        /// Packs that the constraint (or the former) made.
        Total = "total",
        /// Good packs.
        Good = "good",
        /// Packs rejected.
        Rejected = "rejected",
        /// Pieces that a station finished.
        Made = "made",
    }
}

/// A column, by its heading or by its place from 1.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ColumnSpec {
    /// Its heading.
    Heading(String),
    /// Its place from 1.
    Place(u32),
}

impl Typed for ColumnSpec {
    fn read(value: &Value<'_>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        match value {
            Value::StringLit(_) => String::read(value, reader).map(Self::Heading),
            Value::NumberLit(_) => match u32::read(value, reader)? {
                0 => reader.refuse("columns are counted from 1", "the first column is 1"),
                place => Some(Self::Place(place)),
            },
            _ => reader.refuse_kind("a column", value, "its heading in quotes, or its place from 1"),
        }
    }
    fn write(&self) -> Option<Json> {
        match self {
            Self::Heading(heading) => heading.write(),
            Self::Place(place) => place.write(),
        }
    }
}

impl JsonSchema for ColumnSpec {
    fn schema_name() -> Cow<'static, str> {
        "Column".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A column: its heading, or its place from 1",
            "anyOf": [{ "type": "string" }, { "type": "integer", "minimum": 1 }]
        })
    }
}
