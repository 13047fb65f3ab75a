//! The day on which a command runs: the date of notes that a script leaves. No answer depends on it.

use std::time::{SystemTime, UNIX_EPOCH};

/// Today in UTC, `YYYY-MM-DD`.
pub(super) fn today() -> String {
    let seconds = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs());
    date_of_day((seconds / 86_400) as i64)
}

/// The date of a day counted from 1970-01-01 in the Gregorian calendar, by eras of 400 years that begin in
/// March, so that the leap day is the last of its year.
fn date_of_day(day: i64) -> String {
    let shifted = day + 719_468; // days from 0000-03-01 to 1970-01-01
    let (era, day_of_era) = (shifted.div_euclid(146_097), shifted.rem_euclid(146_097));
    let year_of_era = (day_of_era - day_of_era / 1_460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month_from_march = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * month_from_march + 2) / 5 + 1;
    let month = if month_from_march < 10 { month_from_march + 3 } else { month_from_march - 9 };
    let year = year_of_era + era * 400 + i64::from(month <= 2);
    format!("{year:04}-{month:02}-{day:02}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_dated_as_the_calendar_has_them() {
        // From Python's datetime.date.fromordinal(719163 + day).
        for (day, date) in [
            (0, "1970-01-01"),
            (59, "1970-03-01"),
            (789, "1972-02-29"),
            (11_016, "2000-02-29"),
            (20_526, "2026-03-14"),
            (47_540, "2100-02-28"),
            (47_541, "2100-03-01"),
        ] {
            assert_eq!(date_of_day(day), date, "day {day}");
        }
    }
}
