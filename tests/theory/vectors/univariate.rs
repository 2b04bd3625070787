//! The univariate reference sets of NIST StRD: mean, standard deviation (divisor n - 1) and lag-1 autocorrelation.

use super::{Ours, Vector, number, numbers};
use linewake_stats::estimate::{mean, variance};
use linewake_stats::series::autocorrelation;

pub(super) fn ours(vector: &Vector) -> Vec<Ours> {
    let data = data(vector);
    let mut ours = vec![
        Ours::new("mean", mean(&data)),
        Ours::new("sd", variance(&data).map(f64::sqrt)),
        Ours::new("lag1", autocorrelation(&data, 1)),
    ];
    if vector.id != "STRD-NumAcc1" {
        ours.push(Ours::new("n", data.len() as f64));
    }
    ours
}

fn data(vector: &Vector) -> Vec<f64> {
    match vector.id.as_str() {
        "STRD-Lew" => read(include_str!("../data/strd_lew.csv")),
        "STRD-Lottery" => read(include_str!("../data/strd_lottery.csv")),
        "STRD-Mavro" => read(include_str!("../data/strd_mavro.csv")),
        "STRD-Michelso" => read(include_str!("../data/strd_michelson.csv")),
        "STRD-NumAcc1" => {
            let data = numbers(vector, "data");
            assert_eq!(data, read(include_str!("../data/strd_numacc1.csv")));
            data
        }
        "STRD-PiDigits" => {
            let misprint = &vector.input["misprint"];
            let place = misprint["digit"].as_u64().expect("a place") as usize - 1;
            let mut digits = digits_of_pi(number(vector, "digits") as usize);
            // The certified values are those of the set as it is kept, which has one wrong digit.
            assert_eq!(digits[place], 8);
            digits[place] = misprint["printed"].as_u64().expect("a digit") as u8;
            digits.into_iter().map(f64::from).collect()
        }
        _ => {
            let mut data = vec![number(vector, "first")];
            for _ in 0..number(vector, "pairs") as usize {
                data.extend(numbers(vector, "then_alternate"));
            }
            data
        }
    }
}

fn read(file: &str) -> Vec<f64> {
    file.lines().skip(1).map(|line| line.parse().expect("a number")).collect()
}

/// The first digits of pi, the 3 included, by Machin's formula pi = 16 arctan(1/5) - 4 arctan(1/239) in fixed point.
fn digits_of_pi(digits: usize) -> Vec<u8> {
    // Words of nine decimal digits, the first before the point; two words more than needed take up the rounding.
    const WORD: u64 = 1_000_000_000;
    let words = digits / 9 + 4;
    let divide = |number: &mut [u64], by: u64| {
        let mut rest = 0;
        for word in number {
            let whole = rest * WORD + *word;
            *word = whole / by;
            rest = whole % by;
        }
    };
    let add = |sum: &mut [u64], number: &[u64], minus: bool| {
        let mut carry = 0;
        for (word, other) in sum.iter_mut().zip(number).rev() {
            let whole = if minus { *word + WORD - other - carry } else { *word + other + carry };
            carry = if minus { u64::from(whole < WORD) } else { u64::from(whole >= WORD) };
            *word = whole % WORD;
        }
    };
    let mut pi = vec![0; words];
    for (factor, inverse, subtract) in [(16, 5, false), (4, 239, true)] {
        let mut power = vec![0; words];
        power[0] = factor;
        divide(&mut power, inverse);
        let mut odd = 1;
        while power.iter().any(|word| *word > 0) {
            let mut term = power.clone();
            divide(&mut term, odd);
            add(&mut pi, &term, subtract != (odd % 4 == 3));
            divide(&mut power, inverse * inverse);
            odd += 2;
        }
    }
    let text: String = pi[1..].iter().map(|word| format!("{word:09}")).collect();
    core::iter::once(pi[0] as u8).chain(text.bytes().map(|digit| digit - b'0')).take(digits).collect()
}
