//! What each figure is: symbol, unit, formula, source. Tables, tooltips and docs are made from this list.
//!
//! Element names follow ISO 22400-2 (read in a public ontology of that standard, which has no clause numbers). OEE as
//! used here departs from it in one point, availability, and says so; the split of the standard stands beside it as
//! A_iso. What the standard names and a log cannot tell stands in [`NOT_TOLD`], with why.

/// Where a figure belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum KpiGroup {
    /// OEE of the line at its constraint, and its factors.
    Line,
    /// OEE of one machine by itself, and its factors.
    Machine,
    /// Waits, stops and flow of one station.
    Station,
    /// Time elements of ISO 22400-2.
    IsoTime,
    /// Quantity elements of ISO 22400-2.
    IsoQuantity,
    /// KPIs of ISO 22400-2.
    IsoKpi,
}

impl KpiGroup {
    /// Its heading.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Line => "the line at its constraint",
            Self::Machine => "each machine by itself",
            Self::Station => "waits, stops and flow of a station",
            Self::IsoTime => "time elements of ISO 22400-2",
            Self::IsoQuantity => "quantity elements of ISO 22400-2",
            Self::IsoKpi => "KPIs of ISO 22400-2",
        }
    }
}

/// Definition of one figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub struct KpiDefinition {
    /// Where it belongs.
    pub group: KpiGroup,
    /// Symbol, as printed.
    pub symbol: &'static str,
    /// Name.
    pub name: &'static str,
    /// Unit; "1" for a share.
    pub unit: &'static str,
    /// Formula, in the symbols of this list.
    pub formula: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// What it says, in one or two sentences.
    pub text: &'static str,
}

/// The definition of that symbol.
#[must_use]
pub fn definition(symbol: &str) -> Option<&'static KpiDefinition> {
    KPIS.iter().find(|kpi| kpi.symbol == symbol)
}

/// Something that ISO 22400-2 names and a log of a line does not tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub struct NotTold {
    /// Its name, with its symbol where it has one.
    pub name: &'static str,
    /// Its formula; empty for an element.
    pub formula: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// Why a log does not tell it.
    pub why: &'static str,
}

macro_rules! kpis {
    ($($group:ident { $($symbol:literal, $name:literal, $unit:literal, $formula:literal, $source:expr, $text:literal;)* })*) => {
        /// All definitions, in the order in which they build on each other.
        pub const KPIS: &[KpiDefinition] = &[$($(KpiDefinition {
            group: KpiGroup::$group, symbol: $symbol, name: $name, unit: $unit, formula: $formula, source: $source,
            text: $text,
        }),*),*];
    };
}

/// Source of what was read of ISO 22400-2.
const ISO: &str = "ISO 22400-2, read in a public ontology of it (version 2.0.0)";
/// Source of what is common practice.
const PRACTICE: &str = "not in ISO 22400-2; common practice";

kpis! {
    Line {
    "PPT", "planned production time", "s", "window - planned stops that are left out",
        "corresponds to planned busy time (PBT) of ISO 22400-2, which takes all planned downtime out",
        "Breaks are left out by default and tests are counted in it as downtime; the model says which. Whether \
         scheduled downtime stays in the denominator differs between published metrics, so the rule can be chosen for \
         a report, and is printed.";
    "t_ideal", "ideal time per pack", "s", "60 / design rate per minute",
        "planned run time per unit (PRI) of ISO 22400-2; the rate is the design rate in the model",
        "The time a pack takes at the design rate.";
    "total", "packs cut", "packs", "packs cut in the window; empty pockets are none",
        "produced quantity (PQ) of ISO 22400-2",
        "In a line without a former: pieces finished by the constraint.";
    "good", "good packs", "packs", "packs handed over by the last gate in the window",
        "good quantity (GQ) of ISO 22400-2",
        "Packs with a defect that nothing found (escapes) are in it, and are printed beside it.";
    "A", "availability", "1", "(PPT - interruptions of at least the short stop limit) / PPT",
        "own split, common practice; not the availability of ISO 22400-2",
        "Interruptions of the constraint, from the instant it leaves running to the instant it runs again, that last \
         at least the short stop limit. Shorter ones sink P.";
    "P", "performance", "1", "total x t_ideal / (PPT x A)",
        "effectiveness (PRI x PQ / APT) of ISO 22400-2, with the time of A in place of APT",
        "Short interruptions and slow cycles sink it. Over 1 means that the design rate is below what the line did; \
         it is never clipped. None when total or A is zero.";
    "Q", "quality", "1", "good / total",
        "quality ratio (GQ / PQ) of ISO 22400-2",
        "Packs still in the line at the end count in total. None when total or A is zero.";
    "OEE", "overall equipment effectiveness", "1", "A x P x Q = good x t_ideal / PPT",
        "OEE index of ISO 22400-2: availability x effectiveness x quality ratio",
        "Judged at the constraint. It does not depend on the short stop limit, its split does.";
    "A_iso", "availability, ISO split", "1", "running time of the constraint / PPT",
        "availability (APT / PBT) of ISO 22400-2",
        "Every interruption, however short, is an availability loss.";
    "P_iso", "performance, ISO split", "1", "total x t_ideal / running time of the constraint",
        "effectiveness (PRI x PQ / APT) of ISO 22400-2",
        "Only slow cycles sink it. A_iso x P_iso x Q is the same OEE. None when total, A or running time is zero.";
    "Q_past", "quality without what is still in the line", "1", "good / (total - still in the line)",
        "first pass yield in all but name; for information",
        "Printed beside Q, since Q of a short run suffers from the packs on the way.";
    }
    Machine {
    "A_m", "availability of the machine", "1", "(PPT_m - its interruptions of at least the short stop limit) / PPT_m",
        PRACTICE,
        "As A, judged at that machine, with PPT_m the window less its own planned stops that are left out. Waiting for \
         product or for room is an interruption like any other; TE leaves it out.";
    "P_m", "performance of the machine", "1", "pieces x 60 / ideal rate / (PPT_m x A_m)",
        PRACTICE,
        "Against the best rate of that machine, at the constraint against the design rate. Pieces are what it finished; \
         before the former they are portions. A machine that is faster than its line cannot come near 1.";
    "Q_m", "quality of the machine", "1", "(pieces - rejected or spoilt at it) / pieces",
        PRACTICE,
        "A pack that was tagged at one station and rejected at a later one counts at the one that tagged it. What a gate \
         rejects counts at the gate, wherever it was caused.";
    "OEE_m", "OEE of the machine", "1", "A_m x P_m x Q_m", PRACTICE,
        "It ranks no machines: the one with the lowest need not be the constraint. None without a rate.";
    }
    Station {
    "MTBF", "mean running time between stops", "s", "running time of the station / its own stops",
        "everyday estimator; the printed ISO 22400-2:2014 divides by the number of stops + 1 (from memory)",
        "Stops that began in the window; planned stops are none. Interval: 2 T / chi-square, a watch ended by time \
         (Epstein and Sobel 1953); it holds for stops whose likelihood does not depend on how long ago the last one was.";
    "MTTR", "mean time to restore", "s", "time in own stops / own stops, waiting for an operator included",
        "everyday estimator; the printed ISO 22400-2:2014 divides by the number of stops + 1 (from memory)",
        "Waiting and repair are also given apart. Interval: Student's t over the lengths of the stops that ended; it \
         holds for many stops that do not depend on each other.";
    "starved", "starved share", "1", "starved time / window", PRACTICE,
        "Shown beside a station's own stops and never inside them.";
    "blocked", "blocked share", "1", "blocked time / window", PRACTICE,
        "Shown beside a station's own stops and never inside them.";
    "minor", "minor stops", "1/shift", "own stops shorter than the short stop limit", PRACTICE,
        "Judged by the length of the stop itself, waiting for an operator included and breaks left out; of one that is \
         under way at the end, by its length so far.";
    "long", "long stops", "1/shift", "own stops of at least the short stop limit", PRACTICE,
        "Minor and long stops together are all own stops that began in the window.";
    "throughput", "throughput", "pieces/h", "pieces finished / window, breaks included", PRACTICE,
        "Of the line: good packs. It is not the throughput rate of ISO 22400-2, which divides by the time of an order.";
    }
    IsoTime {
    "POT", "planned operation time", "s", "window", ISO,
        "The time in which the line may be used: here the whole window of the shift, breaks included.";
    "PBT", "planned busy time", "s", "POT - planned stops that are left out", ISO,
        "Which planned stops are left out is a convention, printed beside it.";
    "PRI", "planned run time per unit", "s", "60 / ideal rate per minute",
        "ISO 22400-2, read in a public ontology of it, which writes PRU; OPC 40501, read, writes PRI",
        "At the constraint from the design rate, of another machine from its best rate.";
    "APT", "actual production time", "s", "time running", ISO, "Producing, and nothing else.";
    "ASUT", "actual set-up time", "s",
        "planned stops within PBT other than breaks and routine tests", ISO,
        "The log has no word for set-up: every planned stop that is neither a break nor a challenge counts as one.";
    "AUPT", "actual unit processing time", "s", "APT + ASUT", ISO, "Production and set-up.";
    "ADET", "actual unit delay time", "s", "time in own stops, waiting for an operator included",
        "ISO 22400-2, read in a public ontology of it: malfunctions, minor stops and other unplanned intervals",
        "Waiting for product and for room has its cause outside the machine and is not in it, as proposed by Kang and \
         others (2016, abstract read). Published mappings differ: OPC 40001-1 counts all time without execution \
         within an order.";
    "AUBT", "actual unit busy time", "s", "AUPT + ADET", ISO, "The machine is occupied by its work.";
    "ADOT", "actual unit down time", "s", "PBT - AUBT",
        "ISO 22400-2, read in a public ontology of it: available, but not running an order",
        "Starved, blocked, and breaks and routine tests that count in PBT; time for which the log tells no state.";
    "TBF", "operating time between failures, sum", "s", "APT + ASUT", ISO,
        "Set-up and production, no delay.";
    "TTR", "time to restoration, sum", "s", "ADET", ISO, "Every own stop counts as a failure that is put right.";
    "FE", "failure events", "events", "own stops that began", ISO,
        "The log does not tell a failure from a roll that is used up: all own stops are counted.";
    "CMT", "corrective maintenance time", "s", "time in own stops",
        "ISO 22400-2, read in a public ontology of it: technical and logistic delay included",
        "An upper bound: clearing a jam is in it too.";
    }
    IsoQuantity {
    "PQ", "produced quantity", "pieces", "pieces finished, scrap included", ISO,
        "Of the line: packs cut (total).";
    "GQ", "good quantity", "pieces", "PQ - SQ; of the line: good", ISO,
        "Of the line, packs still in it at the end are in PQ and neither in GQ nor in SQ.";
    "SQ", "scrap quantity", "pieces", "pieces rejected or spoilt at the station", ISO,
        "Of the line: packs rejected between cutting and the last gate.";
    "IP", "inspected parts", "pieces", "pieces that a gate judged; of the line: good + rejected", ISO,
        "A machine that counts rejects inspects all of its pieces.";
    "GP", "good parts", "pieces", "IP - rejected", ISO, "Good at the first inspection: nothing is reworked.";
    }
    IsoKpi {
    "availability", "availability", "1", "APT / PBT", ISO, "A_iso of the line or the machine.";
    "effectiveness", "effectiveness", "1", "PRI x PQ / APT", ISO,
        "P_iso of the line or the machine; over 1 when the ideal rate is too low, and never clipped.";
    "quality_ratio", "quality ratio", "1", "GQ / PQ", ISO, "Q of the line or the machine.";
    "oee_index", "OEE index", "1", "availability x effectiveness x quality ratio = PRI x GQ / PBT", ISO,
        "At the constraint the OEE of the line.";
    "nee_index", "NEE index", "1", "AUPT / PBT x effectiveness x quality ratio", ISO, "Set-up is no loss.";
    "AE", "allocation efficiency", "1", "AUBT / PBT", ISO, "What part of the planned time the machine was occupied.";
    "UE", "utilisation efficiency", "1", "APT / AUBT", ISO, "What part of its occupied time it produced.";
    "TE", "technical efficiency", "1", "APT / (APT + ADET)", ISO,
        "Own stops are the only loss: waits and set-up are left out, so it says what the machine by itself can do.";
    "setup_ratio", "set-up ratio", "1", "ASUT / AUPT", ISO, "What part of the processing is set-up.";
    "scrap_ratio", "scrap ratio", "1", "SQ / PQ", ISO, "Rejected or spoilt at the station.";
    "FPY", "first pass yield", "1", "GP / IP", ISO,
        "The standard asks for parts that are identified one by one; here each is inspected once and never reworked.";
    "fall_off", "fall-off ratio", "1", "SQ / PQ of the first operation",
        "ISO 22400-2, read in a public ontology of it",
        "The first operation that makes packs is the former: over its packs cut, the ratios of the stations add up.";
    "MTBF_iso", "MTBF, printed edition", "s", "TBF / (FE + 1)",
        "ISO 22400-2:2014, formula from memory; the ontology names it without a formula",
        "Beside MTBF, which divides by the stops themselves.";
    "MTTR_iso", "MTTR, printed edition", "s", "TTR / (FE + 1)",
        "ISO 22400-2:2014, formula from memory; the ontology names it without a formula",
        "Beside MTTR, which divides by the stops themselves.";
    }
}

macro_rules! not_told {
    ($($name:literal, $formula:literal, $source:expr, $why:expr;)*) => {
        /// What ISO 22400-2 names and a log of a line does not tell.
        pub const NOT_TOLD: &[NotTold] =
            &[$(NotTold { name: $name, formula: $formula, source: $source, why: $why }),*];
    };
}

const MEMORY: &str = "ISO 22400-2, from memory";
const NO_ORDERS: &str = "the time from start to end of an order has transport and queueing in it, which lie outside the \
                         line: a log has no orders";

not_told! {
    "actual order execution, transport and queueing time (AOET, ATT, AQT)", "", ISO, NO_ORDERS;
    "planned order execution and set-up time (POET, PSUT)", "", ISO, "they come from planning, not from the line";
    "throughput rate", "PQ / AOET", ISO, NO_ORDERS;
    "allocation ratio", "AUBT / AOET", ISO, NO_ORDERS;
    "production process ratio", "APT / AOET", ISO, NO_ORDERS;
    "worker efficiency", "APWT / APAT", ISO,
        "a log tells when an operator is called and free again, not when people are present and working";
    "rework ratio", "RQ / PQ", ISO, "nothing is reworked in the line: what is rejected leaves it";
    "actual to planned scrap ratio", "SQ / PSQ", ISO, "planned scrap comes from planning";
    "equipment load ratio", "PQ / equipment production capacity", ISO,
        "the capacity that planning counts on is not in a log";
    "corrective maintenance ratio", "CMT / (CMT + PMT)", ISO,
        "a log does not tell which planned stop is maintenance (PMT)";
    "MTTF", "TTF / (FE + 1)", MEMORY,
        "it is meant for what is replaced and not put right; a log does not tell which stop was a replacement";
    "machine and process capability (Cm, Cmk, Cp, Cpk)", "(USL - LSL) / (6 s)", ISO,
        "weights stand in a log at pack detail only, and the limits of a specification in none";
    "energy, inventory, storage and transport ratios", "", MEMORY, "they lie outside the line";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn symbols_are_unique_and_nothing_is_empty() {
        for (place, kpi) in KPIS.iter().enumerate() {
            assert!(KPIS.iter().skip(place + 1).all(|other| other.symbol != kpi.symbol), "{}", kpi.symbol);
            assert!(KPIS.iter().take(place).all(|before| before.group <= kpi.group), "{}", kpi.symbol);
            for text in [kpi.symbol, kpi.name, kpi.unit, kpi.formula, kpi.source, kpi.text] {
                assert!(!text.trim().is_empty(), "{}", kpi.symbol);
            }
        }
        for element in NOT_TOLD {
            assert!(!element.name.is_empty() && !element.source.is_empty() && !element.why.is_empty());
        }
        assert_eq!(definition("OEE").map(|kpi| kpi.unit), Some("1"));
        assert_eq!(definition("oee"), None);
    }
}
