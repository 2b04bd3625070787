//! Logs beside each other and beside a model: whether they are of one line, and what a model says better than a log.

use crate::header::{Consequence, LineFacts, LogHeader};
use linewake_model::stop::Reason;

impl LogHeader {
    /// Whether two logs are of the same line, so that their shifts can be put together.
    ///
    /// # Errors
    /// What differs, in words, from this one to the other.
    pub fn same_line(&self, other: &Self) -> Result<(), String> {
        if self.model_name != other.model_name {
            return Err(format!("their lines are \"{}\" and \"{}\"", self.model_name, other.model_name));
        }
        self.facts.same_line(&other.facts)?;
        if self.model_digest != other.model_digest {
            let start = |digest: &str| digest.chars().take(12).collect::<String>();
            return Err(format!(
                "they come from different models of {}, with the digests {} and {}",
                self.model_name,
                start(&self.model_digest),
                start(&other.model_digest)
            ));
        }
        Ok(())
    }
}

impl LineFacts {
    fn same_line(&self, other: &Self) -> Result<(), String> {
        let ids =
            |facts: &Self| facts.stations.iter().map(|it| it.id.as_str()).collect::<Vec<_>>().join(", ");
        let id = |facts: &Self, place: u16| {
            facts.stations.get(usize::from(place)).map_or_else(String::new, |station| station.id.clone())
        };
        let (mine, theirs) = (ids(self), ids(other));
        if mine != theirs {
            return Err(format!("their stations are {mine}; and {theirs}"));
        }
        let rates = (self.design_rate_per_min, other.design_rate_per_min);
        if rates.0.to_bits() != rates.1.to_bits() {
            return Err(format!("their design rates are {} and {} packs/min", rates.0, rates.1));
        }
        if self.constraint != other.constraint {
            let (one, other) = (id(self, self.constraint), id(other, other.constraint));
            return Err(format!("their constraints are {one} and {other}"));
        }
        if self.good_after != other.good_after {
            let (one, other) = (id(self, self.good_after), id(other, other.good_after));
            return Err(format!("packs are good after {one} in the one and after {other} in the other"));
        }
        if self.short_stop_limit != other.short_stop_limit {
            let (one, other) = (self.short_stop_limit.seconds(), other.short_stop_limit.seconds());
            return Err(format!("their short stop limits are {one} and {other} s"));
        }
        let place = self.stations.iter().zip(&other.stations).position(|(one, other)| one != other);
        if let Some(place) = place {
            return Err(format!("{} is not the same station in both", self.stations[place].id));
        }
        if self.left_out_words() != other.left_out_words() {
            return Err("they leave different planned stops out of planned production time".to_owned());
        }
        Ok(())
    }

    /// The facts of a log as a model has them: design rate, constraint, limit of short stops, planned stops that are left
    /// out, what tags follow from stops, and the stations' rates, ways and capacities. Stations and reasons keep the
    /// numbers that they have in the log; reasons that only the model has follow.
    ///
    /// # Errors
    /// The log has a station that the model does not, or in another order, or lacks the model's constraint; in words.
    pub fn under_model(&self, model: &Self) -> Result<Self, String> {
        let mut places = Vec::with_capacity(self.stations.len());
        for station in &self.stations {
            let known = model.stations.iter().position(|it| it.id == station.id);
            let place = known.ok_or_else(|| {
                let ids: Vec<&str> = model.stations.iter().map(|it| it.id.as_str()).collect();
                format!("it has a station \"{}\", and the model has {}", station.id, ids.join(", "))
            })?;
            if places.last().is_some_and(|&last| place < last) {
                return Err(format!(
                    "\"{}\" stands at another place of the line than in the model",
                    station.id
                ));
            }
            places.push(place);
        }
        let here = |place: u16| {
            let number = places.iter().position(|&it| it == usize::from(place));
            number.and_then(|number| u16::try_from(number).ok())
        };
        let constraint = here(model.constraint).ok_or_else(|| {
            let id = &model.stations[usize::from(model.constraint)].id;
            format!("it does not tell of \"{id}\", on which the model judges OEE")
        })?;
        let mut reasons = self.reasons.clone();
        for word in &model.reasons {
            if !reasons.contains(word) && reasons.len() <= usize::from(u16::MAX) {
                reasons.push(word.clone());
            }
        }
        let reason = |of_model: Reason| {
            let word = model.reasons.get(usize::from(of_model.0))?;
            let number = reasons.iter().position(|it| it == word)?;
            u16::try_from(number).ok().map(Reason)
        };
        let consequences = model.consequences.iter().filter_map(|it| {
            let station = match it.station {
                Some(place) => Some(here(place)?),
                None => None,
            };
            Some(Consequence { tag: reason(it.tag)?, station, stop: reason(it.stop)?, ..*it })
        });
        let stations = places.iter().zip(&self.stations).map(|(&place, told)| {
            let mut station = model.stations[place].clone();
            station.has_states = told.has_states;
            station
        });
        Ok(Self {
            design_rate_per_min: model.design_rate_per_min,
            constraint,
            good_after: here(model.good_after).unwrap_or(self.good_after),
            short_stop_limit: model.short_stop_limit,
            left_out: model.left_out.iter().copied().filter_map(reason).collect(),
            consequences: consequences.collect(),
            stations: stations.collect(),
            reasons,
        })
    }

    fn left_out_words(&self) -> Vec<&str> {
        let word = |reason: &Reason| self.reasons.get(usize::from(reason.0)).map(String::as_str);
        let mut words: Vec<&str> = self.left_out.iter().filter_map(word).collect();
        words.sort_unstable();
        words
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use linewake_model::time::Span;

    fn facts() -> LineFacts {
        let text = include_str!("../../../../models/alder-hill-mince.json");
        LineFacts::of(&linewake_model::parse(text).unwrap().line)
    }

    fn header() -> LogHeader {
        LogHeader { model_name: "Alder Hill".to_owned(), facts: facts(), ..LogHeader::default() }
    }

    #[test]
    fn what_differs_between_two_logs_is_named() {
        assert_eq!(header().same_line(&header()), Ok(()));
        let differs = |change: fn(&mut LogHeader)| {
            let mut other = header();
            change(&mut other);
            header().same_line(&other).unwrap_err()
        };
        assert!(differs(|it| it.model_name = "Low Sallow".to_owned()).contains("Low Sallow"));
        assert!(differs(|it| it.model_digest = "ab12".to_owned()).contains("ab12"));
        assert!(differs(|it| it.facts.design_rate_per_min = 90.0).contains("104 and 90"));
        assert!(differs(|it| it.facts.constraint += 1).contains("constraints are former and"));
        assert!(differs(|it| it.facts.good_after -= 1).contains("good after"));
        assert!(differs(|it| it.facts.short_stop_limit = Span::ZERO).contains("300 and 0 s"));
        assert!(differs(|it| it.facts.left_out.clear()).contains("planned stops"));
        assert!(differs(|it| it.facts.stations[2].capacity = None).contains("not the same station"));
        assert!(differs(|it| it.facts.stations[2].id = "belt 7".to_owned()).contains("belt 7"));
    }

    #[test]
    fn a_log_under_its_own_model_has_the_same_facts() {
        assert_eq!(facts().under_model(&facts()), Ok(facts()));
    }

    #[test]
    fn what_a_model_says_replaces_what_the_log_says_and_numbers_stay() {
        let model = facts();
        let mut log = facts();
        // A log of three machines, with its own reasons and a design rate that somebody typed.
        log.stations
            .retain(|station| ["former", "pick robot", "checkweigher"].contains(&station.id.as_str()));
        assert_eq!(log.stations.len(), 3);
        (log.constraint, log.good_after, log.design_rate_per_min) = (1, 2, 50.0);
        log.stations[1].rate_per_min = Some(1.0);
        log.reasons.push("a reason of the plant".to_owned());
        let own = log.reasons.len() - 1;
        let under = log.under_model(&model).unwrap();
        assert_eq!((under.constraint, under.good_after), (0, 2), "former, and the last gate of the log");
        assert!((under.design_rate_per_min - 104.0).abs() < 1e-12);
        assert_eq!(under.reasons[own], "a reason of the plant");
        assert_eq!(under.stations[1], model.stations[5]);
        assert_eq!(under.left_out_words(), model.left_out_words());
        assert!(under.consequences.iter().all(|it| it.station.is_none_or(|place| place < 3)));

        log.stations.remove(0);
        assert!(log.under_model(&model).unwrap_err().contains("on which the model judges OEE"));
        log.stations.reverse();
        assert!(log.under_model(&model).unwrap_err().contains("another place"));
        log.stations[0].id = "oven".to_owned();
        assert!(log.under_model(&model).unwrap_err().contains("oven"));
    }
}
