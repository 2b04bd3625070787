//! The procedures of a fit with their sources, and what must be read beside its figures.

use linewake_kpi::study::Method;

/// What the reader must know of logs of that sort.
pub(super) fn notes(is_simulated: bool, tells_waits: bool) -> Vec<String> {
    let mut notes = Vec::new();
    if is_simulated {
        notes.push("every simulated shift begins anew; the time open at its end is cut off there".to_owned());
    } else {
        notes.push(
            "clocks of running time and of counts go on from one shift into the next, in the order of the logs; what \
             passed before the first stop of the first shift is left out"
                .to_owned(),
        );
    }
    if tells_waits || is_simulated {
        notes.push(
            "the logs tell waiting for an operator from repair: durations of attended stops are repairs"
                .to_owned(),
        );
    } else {
        notes.push(
            "the logs do not tell waiting for an operator from repair: durations are of whole stops, and such a stop is put \
             into a model as one that nobody is called to"
                .to_owned(),
        );
    }
    notes
}

/// The procedures of every fit.
pub(super) fn methods() -> Vec<Method> {
    let method = |what: &str, source: &str| Method { what: what.to_owned(), source: source.to_owned() };
    vec![
        method(
            "laws by maximum likelihood, with times cut off at the end of a shift, and with steps of the record where it \
             stands on a grid",
            "Meeker and Escobar (1998), Statistical Methods for Reliability Data, chapters 7 and 8; for complete and \
             cut-off times Cohen (1965), Technometrics 7, 579-588",
        ),
        method("intervals by profile likelihood", "Wilks (1938), Annals of Mathematical Statistics 9, 60-62"),
        method(
            "choice by AIC among the laws that are not turned down; BIC beside it",
            "Akaike (1974), IEEE Transactions on Automatic Control 19, 716-723; Schwarz (1978), Annals of Statistics 6, \
             461-464",
        ),
        method(
            "goodness of fit by the Anderson-Darling statistic: by its table for fitted parameters, else by records drawn \
             from the fitted law and fitted again",
            "D'Agostino and Stephens (1986), Goodness-of-Fit Techniques, chapter 4; Stute, Gonzalez Manteiga and Presedo \
             Quindimil (1993), Metrika 40, 243-256 (from memory)",
        ),
        method(
            "the share of longer times from the data alone",
            "Kaplan and Meier (1958), Journal of the American Statistical Association 53, 457-481",
        ),
        method(
            "trend by the test of Lewis and Robinson for stops, by rank correlation for durations; hanging together by the \
             correlation of neighbouring ranks; shifts by their counts, and by Kruskal and Wallis for durations; told below \
             p = 0.001",
            "Ascher and Feingold (1984), Repairable Systems Reliability; Kruskal and Wallis (1952), Journal of the American \
             Statistical Association 47, 583-621 (from memory)",
        ),
    ]
}
