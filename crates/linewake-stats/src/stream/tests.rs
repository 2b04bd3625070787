//! Streams: the scheme against values made by another program, and random access against access in turn.

use super::{IndexedStream, SCHEME_VERSION, Streams, WINDOW, stream_number, to_open01};
use rand::Rng;

/// Values 0, 1, 2, 31, 32, 33, 10^6 and 2^40 of three streams, written by an independent program from the rule in the
/// module's head (its ChaCha core was tried on the published zero-key, zero-nonce start 76b8e0ada0f13d90 with 20 rounds, and on
/// 3e00ef2f895f40d6 with 8; both from memory).
const INDICES: [u64; 8] = [0, 1, 2, 31, 32, 33, 1_000_000, 1 << 40];
const REFERENCE: [(u64, u64, &str, [u64; 8]); 3] = [
    (
        1,
        0,
        "portioner/weight",
        [
            0xd0ed_f46a_11f7_a28a,
            0x5908_fd33_5a10_891d,
            0xdba1_8207_7792_8143,
            0xb28f_d47b_1f53_8caf,
            0x2f38_7f3f_c39f_12d5,
            0x539f_54a2_2d0a_c45a,
            0xddae_7e9c_a43f_ae27,
            0xfef0_58ae_e422_9d47,
        ],
    ),
    (
        2,
        3,
        "former/web tracking/between",
        [
            0x8aeb_ab0f_87b4_7a1b,
            0x1593_7f89_7bb0_290d,
            0x37e1_cf76_6f2e_c009,
            0x4f7b_ed63_d75c_efbb,
            0xc010_f7c8_5ef0_7022,
            0x243b_5eed_e4a3_a203,
            0xbd02_34a8_9b3f_d80f,
            0xea68_beea_3a97_388f,
        ],
    ),
    (
        u64::MAX,
        7,
        "",
        [
            0x34a8_94e2_9361_f679,
            0x5e0e_5370_08f9_1058,
            0xe9c5_11dd_78be_3b07,
            0x1507_e729_6b8c_b107,
            0xbec8_d851_0d8a_8cfc,
            0x8a4a_1e05_8206_f110,
            0x6316_e6b2_fc4b_d926,
            0x23a2_b8e8_147d_2fa5,
        ],
    ),
];

#[test]
fn scheme_1_gives_the_bits_of_an_independent_program() {
    assert_eq!(SCHEME_VERSION, 1, "new bits are a new version, and these references belong to version 1");
    for (seed, replication, name, expected) in REFERENCE {
        let streams = Streams::new(seed, replication);
        let mut by_index = streams.indexed(name);
        assert_eq!(INDICES.map(|index| by_index.u64_at(index)), expected, "{name}");
        let mut in_turn = streams.get(name);
        let first: Vec<u64> = (0..34).map(|_| in_turn.next_u64()).collect();
        assert_eq!([0, 1, 2, 31, 32, 33].map(|index| first[index]), expected[..6], "{name}");
    }
}

#[test]
fn reading_by_index_in_any_order_gives_what_reading_in_turn_gives() {
    let streams = Streams::new(20_260_101, 4);
    let mut in_turn = streams.get("x");
    let values: Vec<u64> = (0..1000).map(|_| in_turn.next_u64()).collect();
    let upwards = 0..1000_u64;
    let downwards = (0..1000_u64).rev();
    let scattered = (0..1000_u64).map(|step| step * 389 % 1000);
    let two_readers = (0..500_u64).flat_map(|step| [step + 500, step]);
    let orders: [Vec<u64>; 4] =
        [upwards.collect(), downwards.collect(), scattered.collect(), two_readers.collect()];
    for order in orders {
        let mut by_index = streams.indexed("x");
        for index in order {
            assert_eq!(by_index.u64_at(index), values[index as usize], "index {index}");
        }
    }
}

#[test]
fn the_last_index_can_be_read() {
    let mut stream: IndexedStream = Streams::new(1, 1).indexed("end");
    let last = stream.u64_at(u64::MAX);
    let first = stream.u64_at(0);
    assert_eq!(last, stream.u64_at(u64::MAX));
    assert_eq!(first, Streams::new(1, 1).get("end").next_u64());
    // Behind the last window the counter of the generator is not back at 0: the first one has to be set.
    stream.u64_at(u64::MAX - WINDOW as u64);
    stream.u64_at(u64::MAX);
    assert_eq!(first, stream.u64_at(0));
}

#[test]
fn seed_replication_and_name_each_make_another_stream() {
    let base = Streams::new(1, 0).get("a").next_u64();
    for (streams, name) in [
        (Streams::new(2, 0), "a"),
        (Streams::new(1, 1), "a"),
        (Streams::new(0, 1), "a"),
        (Streams::new(1, 0), "b"),
    ] {
        assert_ne!(base, streams.get(name).next_u64());
    }
    assert_eq!(base, Streams::new(1, 0).get("a").next_u64());
}

/// A sampler that asks for 32 bits or for bytes uses up whole values.
#[test]
fn every_kind_of_draw_uses_up_whole_values() {
    let streams = Streams::new(5, 5);
    let mut whole = streams.get("x");
    let mut mixed = streams.get("x");
    let values: Vec<u64> = (0..5).map(|_| whole.next_u64()).collect();
    assert_eq!(u64::from(mixed.next_u32()), values[0] >> 32);
    let mut bytes = [0; 11];
    mixed.fill_bytes(&mut bytes);
    assert_eq!(bytes[..8], values[1].to_le_bytes());
    assert_eq!(bytes[8..], values[2].to_le_bytes()[..3]);
    assert_eq!(mixed.next_u64(), values[3]);
    assert_eq!(Rng::next_u64(&mut mixed), values[4]);
}

#[test]
fn open01_is_open_at_both_ends_and_symmetric() {
    let smallest = to_open01(0);
    let largest = to_open01(u64::MAX);
    assert!(smallest > 0.0 && largest < 1.0, "{smallest} {largest}");
    assert_eq!(smallest.to_bits(), (0.5_f64.powi(53)).to_bits());
    for bits in [0, u64::MAX, 1 << 63, 0x1234_5678_9abc_def0, u64::MAX >> 1] {
        // Both u and 1 - u are exact, and complementary bits give complementary numbers.
        assert_eq!((1.0 - to_open01(bits)).to_bits(), to_open01(!bits).to_bits());
    }
}

/// Mean of 20,000 uniform numbers within 4.4 standard errors of 1/2: wrong alarm 1 in 100,000, seed fixed.
#[test]
fn open01_has_the_mean_of_a_uniform() {
    let mut stream = Streams::new(1, 0).indexed("mean");
    let mean = (0..20_000).map(|index| stream.open01_at(index)).sum::<f64>() / 20_000.0;
    assert!((mean - 0.5).abs() < 4.4 / (12.0_f64 * 20_000.0).sqrt(), "{mean}");
}

#[test]
fn what_happens_at_a_small_probability_happens_at_a_larger_one() {
    let streams = Streams::new(1, 0);
    let mut stream = streams.indexed("leak");
    let chance = |probability| streams.chance("leak", probability);
    let (mut rare, mut more) = (chance(0.1), chance(0.2));
    let mut never = [chance(0.0), chance(-1.0), chance(f64::NAN)];
    let mut always = [chance(1.0), chance(2.0)];
    let mut often = 0;
    for index in 0..10_000 {
        assert!(!never.iter_mut().any(|chance| chance.happens_at(index) || chance.happens_among(index, 9)));
        assert!(always.iter_mut().all(|chance| chance.happens_at(index) && chance.happens_among(index, 1)));
        let happens = rare.happens_at(index);
        assert_eq!(happens, stream.open01_at(index) < 0.1);
        assert!(!happens || more.happens_at(index));
        often += i32::from(happens);
    }
    // Binomial(10,000, 0.1) within 4.4 standard deviations of 30: wrong alarm 1 in 100,000.
    assert!((often - 1000).abs() < 132, "{often}");
}

/// The comparison of integers is that of the uniform numbers, at probabilities on and next to a step between two of them.
#[test]
fn a_chance_is_a_comparison_of_uniform_numbers() {
    let streams = Streams::new(3, 0);
    let mut stream = streams.indexed("leak");
    for index in 0..200 {
        let number = stream.open01_at(index);
        for probability in [number, number.next_up(), number.next_down(), number / 2.0, 0.5, 1e-300] {
            let happens = streams.chance("leak", probability).happens_at(index);
            assert_eq!(happens, number < probability, "{index} {probability}");
        }
    }
}

#[test]
fn what_happens_among_several_happens_at_one_of_them() {
    let streams = Streams::new(1, 0);
    let (mut one_by_one, mut together) = (streams.chance("leak", 0.02), streams.chance("leak", 0.02));
    for first in (0..3000).rev().step_by(7) {
        for count in [0, 1, 5, 8, 31, 32, 33, 64, 100] {
            let happens = (first..first + count).any(|index| one_by_one.happens_at(index));
            assert_eq!(together.happens_among(first, count), happens, "{first} {count}");
        }
    }
}

/// Test vectors of the FNV authors (published with the reference code; from memory).
#[test]
fn stream_number_is_fnv_1a() {
    for (text, number) in
        [("", 0xcbf2_9ce4_8422_2325), ("a", 0xaf63_dc4c_8601_ec8c), ("foobar", 0x8594_4171_f739_67e8)]
    {
        assert_eq!(stream_number(text), number, "{text}");
    }
}
