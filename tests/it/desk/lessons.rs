//! Lessons over the wire, and the page that is saved of them.

use super::client::Desk;
use serde_json::{Value, json};

/// What stands in the saved page is what the server finds, to the last digit.
#[test]
fn the_saved_page_holds_what_the_lessons_find() {
    let desk = Desk::models();
    let lessons = desk.get("/api/lessons").json();
    let lessons = lessons.as_array().expect("lessons");
    assert!(lessons.len() >= 8);
    let page = desk.post("/api/training-page", &json!({})).events("page").pop().expect("a page");
    let html = page["html"].as_str().expect("HTML");
    let results =
        html.split("id=\"results\">").nth(1).and_then(|it| it.split("</script>").next()).expect("results");
    let results: Value = serde_json::from_str(results).expect("JSON");
    assert_eq!(results.as_array().expect("results").len(), lessons.len());
    for (lesson, saved) in lessons.iter().zip(results.as_array().expect("results")) {
        assert_eq!(lesson["id"], saved["id"]);
        assert!(lesson["line"].as_str().is_some_and(|line| line.contains("invented")), "{lesson}");
        assert!(saved["low"].as_f64() <= saved["high"].as_f64(), "{}", lesson["id"]);
        assert!(saved["replay"]["stations"].as_array().is_some_and(|stations| stations.len() > 2));
    }
    for place in [1, 8] {
        let found = desk
            .post("/api/lesson", &json!({ "id": lessons[place]["id"] }))
            .events("found")
            .pop()
            .expect("a result");
        assert_eq!(found, results[place], "{}", lessons[place]["id"]);
    }
    assert_eq!(desk.post("/api/lesson", &json!({ "id": "nothing" })).status, 404);
}
