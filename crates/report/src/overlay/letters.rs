//! A stroke alphabet for labels on pictures: letters, digits and signs as polylines, drawn by ourselves.
//!
//! A letter lies on a grid: columns from 0 to 4 to the right, rows downwards; capitals and digits stand from row 0 to
//! row 6, small letters from row 2 to row 6, tails reach row 8. A stroke is a run of two-digit places, column then row;
//! strokes are parted by blanks. What has no letter here is drawn as an empty box. Digits are all equally wide.

/// Rows of a capital letter.
const ROWS: f64 = 6.0;

/// Columns between two letters.
const SPACE: f64 = 1.8;

const SHAPES: &[(char, &str)] = &[
    ('0', "103041453616050110"),
    ('1', "112026 1636"),
    ('2', "01103041420646"),
    ('3', "0110304142334445361605 1333"),
    ('4', "36300444"),
    ('5', "400002324345361605"),
    ('6', "413010010516364544331304"),
    ('7', "004016"),
    ('8', "13020110304142331304051636454433"),
    ('9', "051636454130100102133342"),
    ('a', "02223336 341405162635"),
    ('b', "0006 0312223335261605"),
    ('c', "3322120305162635"),
    ('d', "3036 3322120305162635"),
    ('e', "043433221203051636"),
    ('f', "201116 0222"),
    ('g', "32372808 3322120305162635"),
    ('h', "0006 0312223336"),
    ('i', "0206 00"),
    ('j', "121708 10"),
    ('k', "0006 3205 1436"),
    ('l', "000516"),
    ('m', "0206 03122326 23324346"),
    ('n', "0206 0312223336"),
    ('o', "122233352616050312"),
    ('p', "0208 0312223335261605"),
    ('q', "3238 3322120305162635"),
    ('r', "0206 031222"),
    ('s', "3212031424352606"),
    ('t', "101526 0222"),
    ('u', "0205162635 3236"),
    ('v', "022642"),
    ('w', "0216233642"),
    ('x', "0236 3206"),
    ('y', "0226 4218"),
    ('z', "02320636"),
    ('A', "062046 1434"),
    ('B', "00063645443303 3342413000"),
    ('C', "4130100105163645"),
    ('D', "00063645413000"),
    ('E', "40000646 0333"),
    ('F', "400006 0333"),
    ('G', "41301001051636454323"),
    ('H', "0006 4046 0343"),
    ('I', "0006"),
    ('J', "3035261605"),
    ('K', "0006 4004 1346"),
    ('L', "000646"),
    ('M', "0600234046"),
    ('N', "06004640"),
    ('O', "103041453616050110"),
    ('P', "06003041423303"),
    ('Q', "103041453616050110 2446"),
    ('R', "06003041423303 2346"),
    ('S', "413010010213334445361605"),
    ('T', "0040 2026"),
    ('U', "000516364540"),
    ('V', "002640"),
    ('W', "0016233640"),
    ('X', "0046 4006"),
    ('Y', "002340 2326"),
    ('Z', "00400646"),
    ('.', "06"),
    (',', "1607"),
    (':', "03 06"),
    ('-', "0333"),
    ('\u{2212}', "0343"),
    ('+', "0343 2125"),
    ('\u{b1}', "0242 2024 0646"),
    ('\u{d7}', "0235 3205"),
    ('=', "0242 0444"),
    ('%', "4006 0010110100 3545463635"),
    ('/', "4006"),
    ('(', "10010516"),
    (')', "00111506"),
    ('_', "0747"),
    ('\u{b5}', "0208 05162635 3236"),
    ('\u{b0}', "0010110100"),
];

const BOX: &str = "0040460600";

fn strokes(c: char) -> impl Iterator<Item = Vec<[f64; 2]>> {
    let shape = SHAPES
        .iter()
        .find(|(letter, _)| *letter == c)
        .map_or(BOX, |(_, shape)| shape);
    let shape = if c == ' ' || c == '\u{a0}' { "" } else { shape };
    shape.split_whitespace().map(|stroke| {
        let place = |pair: &[u8]| [f64::from(pair[0] - b'0'), f64::from(pair[1] - b'0')];
        stroke.as_bytes().chunks_exact(2).map(place).collect()
    })
}

/// Columns that a letter takes, with the space after it.
fn advance(c: char) -> f64 {
    let widest = strokes(c).flatten().map(|[column, _]| column).fold(0.0, f64::max);
    match c {
        ' ' | '\u{a0}' => 2.8,
        c if c.is_ascii_digit() => 4.0 + SPACE,
        _ => widest + SPACE,
    }
}

/// Width of a text whose capitals are `height` high, in the unit of `height`.
pub fn width(text: &str, height: f64) -> f64 {
    let columns: f64 = text.chars().map(advance).sum();
    (columns - SPACE).max(0.0) * height / ROWS
}

/// The strokes of a text, its capitals `height` high, the top left corner of the first at `(x, y)`.
///
/// ```
/// let strokes = tremolet_report::overlay::letters::written("L", [10.0, 20.0], 12.0);
/// assert_eq!(strokes, [[[10.0, 20.0], [10.0, 32.0], [18.0, 32.0]]]);
/// ```
pub fn written(text: &str, [x, y]: [f64; 2], height: f64) -> Vec<Vec<[f64; 2]>> {
    let unit = height / ROWS;
    let mut out = Vec::new();
    let mut left = x;
    for c in text.chars() {
        let placed = |stroke: Vec<[f64; 2]>| {
            stroke
                .into_iter()
                .map(|[column, row]| [left + unit * column, y + unit * row])
                .collect()
        };
        out.extend(strokes(c).map(placed));
        left += unit * advance(c);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::{SHAPES, strokes, width, written};

    #[test]
    fn every_letter_stays_on_its_grid() {
        for (c, shape) in SHAPES {
            assert!(shape.split(' ').all(|s| s.len() % 2 == 0 && !s.is_empty()), "{c}");
            for [column, row] in strokes(*c).flatten() {
                assert!(column <= 4.0 && row <= 8.0, "{c}");
            }
        }
    }

    #[test]
    fn no_two_letters_look_alike() {
        for (i, (a, one)) in SHAPES.iter().enumerate() {
            for (b, other) in &SHAPES[i + 1..] {
                assert!(one != other || (*a == '0' && *b == 'O'), "{a} {b}");
            }
        }
    }

    #[test]
    fn digits_are_equally_wide_and_nothing_is_lost() {
        assert_eq!(width("111", 12.0), width("808", 12.0));
        assert!(width("m", 12.0) > width("i", 12.0));
        assert_eq!(written("\u{4e2d}", [0.0, 0.0], 12.0).len(), 1, "a box");
        assert!(written(" ", [0.0, 0.0], 12.0).is_empty());
    }
}
