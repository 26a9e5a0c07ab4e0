//! Force bytes turned about so that they compress: lossless for any bytes of any length.
//!
//! Read as 32-bit words (little-endian floats of a slowly changing force), each word less the one before is small; the
//! differences' signs are folded away and their bytes sorted by place: all lowest bytes, then all second … Upper places are
//! then nearly all zero. Bytes over after the last whole word stand behind as they are.

/// Turned about.
pub fn shuffle(bytes: &[u8]) -> Vec<u8> {
    let (words, over) = bytes.as_chunks::<4>();
    let mut before = 0_u32;
    let steps: Vec<[u8; 4]> = words
        .iter()
        .map(|word| {
            let now = u32::from_le_bytes(*word);
            let step = now.wrapping_sub(before) as i32;
            before = now;
            (((step << 1) ^ (step >> 31)) as u32).to_le_bytes()
        })
        .collect();
    let mut out = Vec::with_capacity(bytes.len());
    out.extend(steps.iter().map(|[a, ..]| *a));
    out.extend(steps.iter().map(|[_, b, ..]| *b));
    out.extend(steps.iter().map(|[_, _, c, _]| *c));
    out.extend(steps.iter().map(|[.., d]| *d));
    out.extend(over);
    out
}

/// Turned back.
pub fn unshuffle(bytes: &[u8]) -> Vec<u8> {
    let count = bytes.len() / 4;
    let (planes, over) = bytes.split_at(count * 4);
    let (low, high) = planes.split_at(count * 2);
    let ((a, b), (c, d)) = (low.split_at(count), high.split_at(count));
    let mut before = 0_u32;
    let mut out = Vec::with_capacity(bytes.len());
    for (((a, b), c), d) in a.iter().zip(b).zip(c).zip(d) {
        let folded = u32::from_le_bytes([*a, *b, *c, *d]);
        before = before.wrapping_add((folded >> 1) ^ (folded & 1).wrapping_neg());
        out.extend(before.to_le_bytes());
    }
    out.extend(over);
    out
}

/// Whether turning about is likely to pay: the fewer different bytes there are, the larger the sum of squared counts.
pub fn pays(plain: &[u8], shuffled: &[u8]) -> bool {
    let evenness = |bytes: &[u8]| {
        let mut counts = [0_u64; 256];
        for byte in bytes {
            if let Some(count) = counts.get_mut(usize::from(*byte)) {
                *count += 1;
            }
        }
        counts.iter().map(|n| n * n).sum::<u64>()
    };
    evenness(shuffled) > evenness(plain)
}

#[cfg(test)]
mod tests {
    use super::{pays, shuffle, unshuffle};

    #[test]
    fn any_bytes_come_back() {
        let mut random = crate::invented::Random::new(3);
        for length in 0..70 {
            let bytes: Vec<u8> = (0..length).map(|_| random.bits() as u8).collect();
            assert_eq!(unshuffle(&shuffle(&bytes)), bytes);
        }
        let force: Vec<u8> = (0..4000).flat_map(|i| (700.0 + (i % 90) as f32).to_le_bytes()).collect();
        assert_eq!(unshuffle(&shuffle(&force)), force);
        assert!(pays(&force, &shuffle(&force)));
        let text = b"small steps are already small, as text is, and as packed decimals are".repeat(9);
        assert!(!pays(&text, &shuffle(&text)));
    }
}
