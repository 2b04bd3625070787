//! Losses by supplier add up, and so do the guarantees.

use super::*;
use crate::testing::{MINCE, conclusion, conditions, near};

fn supplied() -> BaseModel {
    let text = MINCE
        .replace("\"id\": \"former\",", "\"id\": \"former\", \"supplier\": \"Fell Webs\",")
        .replace("\"id\": \"pick robot\",", "\"id\": \"pick robot\", \"supplier\": \"Fell Webs\",")
        .replace("\"id\": \"case packer\",", "\"id\": \"case packer\", \"supplier\": \"Tarn Cases\",");
    BaseModel::parse(&text).expect("a model")
}

#[test]
fn charges_and_guarantees_add_up() {
    let study =
        ScopeStudy::prepare(supplied(), ScopeOptions::default(), &conditions(12, 28_800.0)).expect("a study");
    let result = conclusion(&study);
    let names: Vec<Option<&str>> = result.suppliers.iter().map(|row| row.supplier.as_deref()).collect();
    assert_eq!(names, [Some("Fell Webs"), Some("Tarn Cases"), None]);
    assert_eq!(result.suppliers[0].stations, ["former", "pick robot"]);
    let charged: f64 = result.suppliers.iter().map(|row| row.charged_packs.mean).sum();
    near(charged, result.design_packs - result.base.good_packs.mean, 1e-6);
    let allowed: f64 = result.suppliers.iter().map(|row| row.allowance_packs).sum();
    near(allowed + result.guaranteed_good_packs, result.design_packs, 1e-6);
    assert!(result.guaranteed_good_packs < result.base.good_packs.mean);
    let former = &result.suppliers[0];
    assert!(former.gain_packs.expect("a supplier").mean > 0.0);
    near(former.allowance_share, former.allowance_packs / result.design_packs, 1e-12);
    // Its own limit is above its mean charge; not all suppliers are unlucky at once.
    let alone: f64 = result.suppliers.iter().map(|row| row.alone_packs).sum();
    assert!(alone > allowed, "{alone} and {allowed}");
}

#[test]
fn a_line_without_suppliers_is_told() {
    let base = BaseModel::parse(MINCE).expect("a model");
    let error =
        ScopeStudy::prepare(base, ScopeOptions::default(), &conditions(5, 100.0)).expect_err("refused");
    assert!(error.to_string().contains("supplier"), "{error}");
    let wrong = ScopeOptions { probability: 0.4 };
    assert!(ScopeStudy::prepare(supplied(), wrong, &conditions(5, 100.0)).is_err());
}
