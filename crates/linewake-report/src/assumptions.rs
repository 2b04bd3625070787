//! The assumptions of a checked line in words with units, for the page.
//!
//! What is told: shift and breaks, crew, and for each station its settings and its own stops. The model file itself
//! has every figure; this is what a reader wants to check without it.

mod distribution;
mod station;

use crate::input::{Assumption, AssumptionGroup};
use crate::number;
use linewake_model::line::{CallOrder, Line};

/// Title of the group about the crew.
pub(crate) const CREW: &str = "Crew";
/// What a row about a stop begins with.
pub(crate) const STOP: &str = "stop: ";

/// The assumptions of a line.
///
/// *Shape*: shift, crew, one group per station in line order, then the stated uncertainties if there are any.
#[must_use]
pub fn groups(line: &Line) -> Vec<AssumptionGroup> {
    let mut groups = vec![shift(line), crew(line)];
    groups.extend(line.stations.iter().map(|station| station::group_of(line, station)));
    groups.extend(uncertainty(line));
    groups
}

/// What the model states of how sure its values are; nothing where it states nothing.
fn uncertainty(line: &Line) -> Option<AssumptionGroup> {
    let rows: Vec<Assumption> = line
        .uncertainty
        .iter()
        .map(|stated| fact(&stated.path, format!("{} \u{b1} {}", stated.value, stated.stated)))
        .collect();
    (!rows.is_empty()).then(|| group("How sure the values are", rows))
}

fn shift(line: &Line) -> AssumptionGroup {
    let shift = &line.shift;
    let mut rows = vec![fact("length", number::duration(shift.length.seconds()))];
    for rest in &shift.breaks {
        rows.push(fact(
            "break",
            format!(
                "{} after {}",
                number::duration(rest.duration.seconds()),
                number::duration(rest.start.seconds())
            ),
        ));
    }
    if shift.breaks.is_empty() {
        rows.push(fact("breaks", "none".to_owned()));
    } else {
        let yes_no = |it: bool| if it { "yes" } else { "no" }.to_owned();
        rows.push(fact("kitchen prepares in breaks", yes_no(shift.supply_in_breaks)));
        rows.push(fact("repairs go on in breaks", yes_no(shift.repairs_in_breaks)));
        rows.push(fact("breaks in planned production time", yes_no(shift.breaks_in_planned_production_time)));
    }
    group("Shift", rows)
}

fn crew(line: &Line) -> AssumptionGroup {
    let crew = &line.crew;
    let order = match crew.order {
        CallOrder::FirstCome => "first come, first served",
        CallOrder::StationPriority => "by station priority",
    };
    group(
        CREW,
        vec![
            fact("operators for the whole line", crew.operators.to_string()),
            fact("response time", distribution::words(&crew.response_s, "s")),
            fact("order of calls", order.to_owned()),
        ],
    )
}

fn group(title: &str, rows: Vec<Assumption>) -> AssumptionGroup {
    AssumptionGroup { title: title.to_owned(), rows }
}

fn fact(what: &str, value: String) -> Assumption {
    Assumption { what: what.to_owned(), value }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MODELS: [&str; 4] = [
        include_str!("../../../models/alder-hill-mince.json"),
        include_str!("../../../models/low-sallow-burgers.json"),
        include_str!("../../../models/merrow-three-machines.json"),
        include_str!("../../../models/tern-quay-fish.json"),
    ];

    #[test]
    fn every_station_and_every_stop_of_the_shipped_models_is_told() {
        for model in MODELS {
            let line = linewake_model::parse(model).unwrap().line;
            let groups = groups(&line);
            assert_eq!(groups.len(), 2 + line.stations.len());
            for (station, group) in line.stations.iter().zip(&groups[2..]) {
                assert!(group.title.starts_with(&station.id));
                assert!(group.rows.iter().all(|row| !row.what.is_empty() && !row.value.is_empty()));
                let stops = group.rows.iter().filter(|row| row.what.starts_with(STOP)).count();
                assert_eq!(stops, station.stops.len(), "{}", station.id);
            }
        }
    }

    /// A consumable that is new at each start, whatever the start of the shift, is told as new and not by a share.
    #[test]
    fn a_stop_that_starts_new_is_told_as_new() {
        let told = |initial: &str| {
            let text = MODELS[1].replacen("\"initial\": \"uniform\"", &format!("\"initial\": {initial}"), 1);
            let groups = groups(&linewake_model::parse(&text).unwrap().line);
            let rows = groups.into_iter().flat_map(|group| group.rows);
            rows.map(|row| row.value.replace('\u{a0}', " ")).find(|value| value.contains("at the start"))
        };
        let new = told("\"new\"").unwrap();
        assert!(new.contains("; new at the start of every shift") && !new.contains("0 % used"), "{new}");
        assert!(told("0.25").unwrap().contains("; at the start 25 % used"));
        assert!(told("\"uniform\"").unwrap().contains("; part used at the start"));
    }

    /// The reference line's own figures, as they stand in its model.
    #[test]
    fn a_stop_is_told_with_the_figures_of_its_model() {
        let line = linewake_model::parse(MODELS[0]).unwrap().line;
        let groups = groups(&line);
        let former = groups.iter().find(|group| group.title == "former").unwrap();
        let tracking = former.rows.iter().find(|row| row.what == "stop: web tracking").unwrap();
        let told = tracking.value.replace('\u{a0}', " ");
        assert_eq!(
            told,
            "after a running time Weibull, shape 1.3, mean 5,400 s; lasts lognormal, median 240 s, 90th percentile \
             600 s; attended"
        );
    }
}
