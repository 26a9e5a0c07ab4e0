//! An amplifier's volts: force where the file says what a volt is, a refusal where it does not.
use super::truth::{PLAIN, Print, check_same_by_any_way, read, truth};
use tarsal::recording::{ReadOptions, Role, Unit};

/// Left at 480 and right at 510 newtons a volt, or both at 500; millivolts where `unit` says so.
fn print(above: &'static str, newtons_per_unit: f64) -> Print {
    Print { above, unit: newtons_per_unit, decimals: 6, ..PLAIN }
}

#[test]
fn volts_are_force_where_the_file_says_what_a_volt_is() {
    let truth = truth(6.0);
    for (above, newtons) in [
        ("Sensitivity: 500 N/V\ntime (s),left (V),right (V)\n", 500.0),
        ("Calibration factor = 500 N/V\ntime_s,left_V,right_V\n", 500.0),
        ("# Empfindlichkeit: 2 mV/N\nZeit,Links,Rechts\ns,V,V\n", 500.0),
        ("sensitivity;0.5 N/mV\ntime (s),left (mV),right (mV)\n", 0.5),
        ("Amplifier: 0.002 V/N\ntime (s),left (volts),right (volts)\n", 500.0),
        ("time (s),left (500 N/V),right (500 N/V)\n", 500.0),
        ("time (s),left (0.5 N/mV),right (0.5 N/mV)\n", 0.5),
        // Of two readings the one that an amplifier can have.
        ("Sensitivity: 1,000 N/V\ntime (s),left (V),right (V)\n", 1000.0),
        ("Sensitivity: 2,125 mV/N\ntime (s),left (V),right (V)\n", 1000.0 / 2.125),
    ] {
        let bytes = print(above, newtons).bytes(&truth);
        let r = read(&bytes, &ReadOptions::default()).unwrap_or_else(|e| panic!("{above}: {e}"));
        for (role, force_n) in [(Role::Left, &truth.left), (Role::Right, &truth.right)] {
            let read_n = r.channel(role).unwrap_or_else(|| panic!("{above}: no {role:?}"));
            let worst = read_n.iter().zip(force_n).map(|(a, b)| (f64::from(*a) - b).abs()).fold(0.0, f64::max);
            // Six decimals of a volt are 0.25 mN either way, and f32 holds 2400 N to 0.1 mN.
            assert!(worst < 6e-4, "{above}: {worst} N off");
        }
        let unit = if newtons < 1.0 { Unit::PerMillivolt(newtons) } else { Unit::PerVolt(newtons) };
        assert_eq!(r.channels[0].report.unit, unit, "{above}");
        check_same_by_any_way("volts", &bytes, &ReadOptions::default(), &[13, 4096]);
    }
}

#[test]
fn each_plate_has_its_own_sensitivity() {
    let truth = truth(6.0);
    let text =
        String::from_utf8(print("Sensitivity left: 480 N/V\nSensitivity right: 510 N/V\ntime (s),left (V),right (V)\n", 1.0).bytes(&truth))
            .expect("text");
    let r = read(text.as_bytes(), &ReadOptions::default()).expect("both are stated");
    let first = |role| f64::from(r.channel(role).expect("both sides")[0]);
    assert!((first(Role::Left) - 480.0 * truth.left[0]).abs() < 0.1 && (first(Role::Right) - 510.0 * truth.right[0]).abs() < 0.1);
}

#[test]
fn volts_stay_unread_where_it_is_not_said_of_which() {
    let truth = truth(6.0);
    for above in [
        "time (s),left (V),right (V)\n",
        "Sensitivity: -500 N/V\ntime (s),left (V),right (V)\n",
        // Ten or ten thousand newtons a volt.
        "Sensitivity: 10.000 N/V\ntime (s),left (V),right (V)\n",
        "Sensitivity: 480 N/V\nSensitivity: 510 N/V\ntime (s),left (V),right (V)\n",
        "Sensitivity left: 480 N/V\ntime (s),plate 1 (V),plate 2 (V)\n",
    ] {
        let refused = read(&print(above, 500.0).bytes(&truth), &ReadOptions::default()).expect_err(above);
        assert_eq!(refused.code, "volts", "{above}: {refused}");
        assert!(refused.try_next.contains("N/V"), "{}", refused.try_next);
    }
}

#[test]
fn a_muscle_signal_is_no_force_beside_a_sensitivity() {
    let truth = truth(6.0);
    let print = Print { cells: "tlrx", ..print("Sensitivity: 500 N/V\ntime (s),left (V),right (V),muscle (mV)\n", 500.0) };
    let r = read(&print.bytes(&truth), &ReadOptions::default()).expect("both plates are stated");
    assert_eq!(r.channels.iter().map(|c| c.report.column).collect::<Vec<_>>(), [2, 3]);
}

#[test]
fn a_unit_is_written_as_its_name_and_read_back() {
    for unit in [
        Unit::Newton,
        Unit::Kilonewton,
        Unit::Millinewton,
        Unit::KilogramForce,
        Unit::PoundForce,
        Unit::PerVolt(512.5),
        Unit::PerMillivolt(0.5125),
    ] {
        let text = serde_json::to_string(&unit).expect("a name");
        assert_eq!(serde_json::from_str::<Unit>(&text).expect("the same name"), unit, "{text}");
    }
    assert!(serde_json::from_str::<Unit>("\"furlong\"").is_err());
}
