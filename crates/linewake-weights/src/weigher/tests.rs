//! Tests of the weigher's classes.

use super::*;
use crate::regime::{LabelUnit, Regime};

const LOADS: [f64; 8] = [50.0, 80.0, 150.0, 250.0, 400.0, 750.0, 5000.0, 12000.0];

/// Vectors R51-1 and R51-2: OIML R 51. In service read in a French order of 2006, Annex III table 8; initial verification
/// from memory.
#[test]
fn standard_deviations_of_the_classes() {
    let table = WeigherTable::oiml_r51();
    let in_service = [0.3, 0.3, 0.45, 0.6, 0.8, 1.0, 5.0, 10.0];
    let initial = [0.12, 0.12, 0.18, 0.24, 0.32, 0.4, 2.0, 4.0];
    for (place, load) in LOADS.into_iter().enumerate() {
        let limit = table.limit(1.0, Stage::InService, load).unwrap();
        assert!((limit.sd_g - in_service[place]).abs() < 1e-9, "{load}");
        assert_eq!(limit.basis.status, Status::Read);
        let limit = table.limit(0.5, Stage::Initial, load).unwrap();
        assert!((limit.sd_g - initial[place]).abs() < 1e-9, "{load}");
        assert_eq!(limit.basis.status, Status::Memory);
    }
}

/// The limit in service is a fifteenth of the tolerable negative error (0.067 % rounds 1 / 15 %), on both sides of every
/// boundary.
#[test]
fn in_service_is_a_fifteenth_of_the_tolerable_error() {
    let (table, eu) = (WeigherTable::oiml_r51(), Regime::eu_76_211());
    for top in [50.0, 100.0, 200.0, 300.0, 500.0, 1000.0, 10000.0, 15000.0] {
        for load in [top - 0.01, top, top + 0.01] {
            let sd_g = table.limit(1.0, Stage::InService, load).unwrap().sd_g;
            let tolerable_g = eu.limits("tne", load, LabelUnit::Gram).unwrap().unrounded_g;
            assert!((sd_g / (tolerable_g / 15.0) - 1.0).abs() < 0.006, "{load}: {sd_g}");
            let initial_g = table.limit(1.0, Stage::Initial, load).unwrap().sd_g;
            assert!((initial_g / sd_g - 0.8).abs() < 0.01, "{load}: {initial_g}");
        }
    }
}

#[test]
fn factors_and_loads_that_are_none() {
    let table = WeigherTable::oiml_r51();
    for factor in [0.2, 0.5, 1.0, 2.0, 0.05, 0.001] {
        assert!(table.limit(factor, Stage::Initial, 100.0).is_ok(), "{factor}");
    }
    for factor in [0.0, -1.0, 3.0, 0.3, 5.0, f64::NAN, 1.5] {
        assert!(table.limit(factor, Stage::Initial, 100.0).is_err(), "{factor}");
    }
    for load in [0.0, -5.0, f64::NAN, f64::INFINITY] {
        assert!(table.limit(1.0, Stage::Initial, load).is_err());
    }
}

#[test]
fn files_that_are_none() {
    for (from, to) in [
        ("\"up_to_g\": 100", "\"up_to_g\": 40"),
        ("\"percent_initial\": 0.48", "\"initial_g\": 1, \"percent_initial\": 0.48"),
        ("\"in_service_g\": 0.3", "\"in_service_g\": -0.3"),
        ("weigher 1", "weigher 2"),
        ("\"percent_in_service\": 0.067, ", ""),
        ("\"read\": [\"percent_in_service\"]", "\"read\": [\"percent\"]"),
    ] {
        assert!(BUILT_IN.contains(from), "{from}");
        assert!(WeigherTable::parse(&BUILT_IN.replacen(from, to, 1)).is_err(), "{to}");
    }
    let table = WeigherTable::oiml_r51();
    assert_eq!(WeigherTable::parse(&serde_json::to_string(&table).unwrap()).unwrap(), table);
}
