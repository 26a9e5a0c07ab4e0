//! A window's force as bytes, bit for bit.
//!
//! Most files give force with a few decimals, so most samples are whole numbers of `10⁻ᵏ` N: then the differences from
//! one sample to the next are small, and one or two bytes hold each (`decimal`). Where any sample is something else,
//! all are little-endian 32-bit floats (`float`). Packing checks every sample, so unpacking gives exactly what was packed.
//! Measured on the invented squad (0.1 N steps, 0.8 N noise): 1.06 bytes a sample for 4.

/// First byte of the packed form: the number of decimals, 0 to 4.
const MOST_DECIMALS: u8 = 4;

/// Channels → little-endian floats, channel after channel.
pub fn pack<'a>(channels: impl Iterator<Item = &'a [f32]>) -> Vec<u8> {
    channels.flatten().flat_map(|sample| sample.to_le_bytes()).collect()
}

/// Bytes → `channels` channels of `len` samples; `None` where the bytes are not exactly that many.
pub fn unpack(bytes: &[u8], channels: usize, len: usize) -> Option<Vec<Vec<f32>>> {
    let expected = channels.checked_mul(len)?.checked_mul(4)?;
    if bytes.len() != expected {
        return None;
    }
    let mut samples = bytes.chunks_exact(4).map(|b| b.try_into().map_or(f32::NAN, f32::from_le_bytes));
    Some((0..channels).map(|_| samples.by_ref().take(len).collect()).collect())
}

fn scale(decimals: u8) -> f64 {
    (0..decimals).fold(1.0, |s, _| s * 10.0)
}

/// Channels → differences of whole numbers of `10⁻ᵏ` N; `None` where the samples are no such numbers.
pub fn pack_decimal(channels: &[&[f32]]) -> Option<Vec<u8>> {
    // Too few decimals are seen to be too few within some samples.
    (0..=MOST_DECIMALS).find_map(|decimals| packed(channels, decimals))
}

/// Packed with so many decimals, if that gives back the same bits.
fn packed(channels: &[&[f32]], decimals: u8) -> Option<Vec<u8>> {
    let scale = scale(decimals);
    let mut out = Vec::with_capacity(channels.iter().map(|c| c.len()).sum::<usize>() * 5 / 4 + 1);
    out.push(decimals);
    for channel in channels {
        let mut before = 0_i64;
        for sample in *channel {
            let now = whole(*sample, scale)?;
            let step = now - before;
            before = now;
            // Small steps of either sign become small numbers, seven bits a byte.
            let mut rest = ((step << 1) ^ (step >> 63)) as u64;
            while rest >= 0x80 {
                out.push((rest & 0x7f) as u8 | 0x80);
                rest >>= 7;
            }
            out.push(rest as u8);
        }
    }
    Some(out)
}

/// The sample as a whole number of `1/scale`, if that gives back the same bits.
fn whole(sample: f32, scale: f64) -> Option<i64> {
    // Adding what leaves no room for fractions rounds to a whole number below 2⁵¹: this is done for every sample of every
    // trial, and `round` is a call on both targets.
    const NO_FRACTIONS: f64 = 6_755_399_441_055_744.0;
    let number = f64::from(sample) * scale;
    // Through the whole number, so that a negative zero is seen to be something else.
    let whole = (number + NO_FRACTIONS - NO_FRACTIONS) as i64;
    let same = number.abs() < 1e12 && ((whole as f64 / scale) as f32).to_bits() == sample.to_bits();
    same.then_some(whole)
}

/// What [`pack_decimal`] gave → the channels; `None` where the bytes are not exactly those.
pub fn unpack_decimal(bytes: &[u8], channels: usize, len: usize) -> Option<Vec<Vec<f32>>> {
    let (decimals, mut rest) = bytes.split_first()?;
    // Each sample has at least a byte: nothing is reserved for samples that cannot be there.
    if *decimals > MOST_DECIMALS || channels.checked_mul(len)? > rest.len() {
        return None;
    }
    let scale = scale(*decimals);
    let mut out = Vec::with_capacity(channels);
    for _ in 0..channels {
        let mut channel = Vec::with_capacity(len);
        let mut now = 0_i64;
        for _ in 0..len {
            let mut zigzag = 0_u64;
            let mut shift = 0;
            loop {
                let (byte, after) = rest.split_first()?;
                rest = after;
                zigzag |= u64::from(byte & 0x7f).checked_shl(shift)?;
                shift += 7;
                if byte & 0x80 == 0 {
                    break;
                }
            }
            now = now.checked_add((zigzag >> 1) as i64 ^ -((zigzag & 1) as i64))?;
            channel.push((now as f64 / scale) as f32);
        }
        out.push(channel);
    }
    rest.is_empty().then_some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimal_samples_come_back_bit_for_bit_in_a_quarter_of_the_room() {
        let mut random = crate::invented::Random::new(7);
        let left: Vec<f32> = (0..5000).map(|_| ((350.0 + random.between(-2.0, 2.0)) * 10.0).round() as f32 / 10.0).collect();
        let right: Vec<f32> = left.iter().map(|v| -v).collect();
        let packed = pack_decimal(&[&left, &right]).unwrap();
        assert!(packed.len() < 10_100 * 5 / 4, "{}", packed.len());
        assert_eq!(unpack_decimal(&packed, 2, 5000), Some(vec![left, right]));
    }

    #[test]
    fn what_is_no_decimal_is_refused_and_what_is_damaged_is_none() {
        assert_eq!(pack_decimal(&[&[std::f32::consts::PI * 100.0]]), None);
        assert_eq!(pack_decimal(&[&[f32::NAN]]), None);
        assert_eq!(pack_decimal(&[&[-0.0]]), None);
        let packed = pack_decimal(&[&[1.5, 2.5, 700.0]]).unwrap();
        assert_eq!(unpack_decimal(&packed, 1, 2), None);
        assert_eq!(unpack_decimal(&packed, 1, 4), None);
        assert_eq!(unpack_decimal(&packed, usize::MAX, usize::MAX), None);
        assert_eq!(unpack_decimal(&[9, 0], 1, 1), None);
        assert_eq!(unpack_decimal(&[1, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff], 1, 1), None);
    }
}
