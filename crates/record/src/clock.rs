//! Instants as text: UTC by the calendar, for provenance and for names.
//!
//! Days since 1970-01-01 are split into eras of 400 years (146097 days), with the year begun in March so that the leap day
//! is its last. Source: \[ISO8601\] for the form; the rule of the Gregorian calendar for the rest. It knows no time zones
//! and no leap seconds, as the system's clock does not either.

use std::time::{SystemTime, UNIX_EPOCH};

/// `2026-01-03T10:15:00Z`; instants before 1970 count as 1970.
pub fn utc(time: SystemTime) -> String {
    let [year, month, day, hour, minute, second] = fields(time);
    format!("{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}Z")
}

/// `20260103T101500Z`, which can stand in the name of a file; instants before 1970 count as 1970.
pub fn utc_in_names(time: SystemTime) -> String {
    let [year, month, day, hour, minute, second] = fields(time);
    format!("{year:04}{month:02}{day:02}T{hour:02}{minute:02}{second:02}Z")
}

/// Year, month, day, hour, minute, second.
fn fields(time: SystemTime) -> [u64; 6] {
    let seconds = time.duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs());
    let [year, month, day] = date(seconds / 86_400);
    let of_day = seconds % 86_400;
    [year, month, day, of_day / 3600, of_day / 60 % 60, of_day % 60]
}

/// Year, month and day, `days` after 1970-01-01.
fn date(days: u64) -> [u64; 3] {
    // 1970-01-01 is 719468 days after 0000-03-01.
    let days = days + 719_468;
    let (era, of_era) = (days / 146_097, days % 146_097);
    let year = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year + year / 4 - year / 100);
    let from_march = (5 * of_year + 2) / 153;
    let day = of_year - (153 * from_march + 2) / 5 + 1;
    let month = if from_march < 10 {
        from_march + 3
    } else {
        from_march - 9
    };
    [400 * era + year + u64::from(month <= 2), month, day]
}

#[cfg(test)]
mod tests {
    use super::{date, utc, utc_in_names};
    use std::time::{Duration, UNIX_EPOCH};

    #[test]
    fn known_instants() {
        // 1e9 s is 2001-09-09 01:46:40 UTC, from memory; the others recomputed independently.
        for (seconds, text) in [
            (0, "1970-01-01T00:00:00Z"),
            (951_782_400, "2000-02-29T00:00:00Z"),
            (1_000_000_000, "2001-09-09T01:46:40Z"),
            (4_107_542_399, "2100-02-28T23:59:59Z"),
            (4_107_542_400, "2100-03-01T00:00:00Z"),
        ] {
            assert_eq!(utc(UNIX_EPOCH + Duration::from_secs(seconds)), text);
        }
        assert_eq!(
            utc_in_names(UNIX_EPOCH + Duration::from_secs(1_000_000_000)),
            "20010909T014640Z"
        );
        assert_eq!(utc(UNIX_EPOCH - Duration::from_secs(9)), "1970-01-01T00:00:00Z");
    }

    #[test]
    fn every_day_follows_the_one_before() {
        let divides = |by: u64, year: u64| year.is_multiple_of(by);
        let long = |year| divides(4, year) && (!divides(100, year) || divides(400, year));
        let mut expected = [1970, 1, 1];
        for days in 0..200_000 {
            assert_eq!(date(days), expected);
            let [year, month, day] = expected;
            let last = match month {
                2 => 28 + u64::from(long(year)),
                4 | 6 | 9 | 11 => 30,
                _ => 31,
            };
            expected = match (day < last, month < 12) {
                (true, _) => [year, month, day + 1],
                (false, true) => [year, month + 1, 1],
                (false, false) => [year + 1, 1, 1],
            };
        }
    }
}
