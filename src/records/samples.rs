//! A window's force as bytes: channel after channel, each sample a little-endian 32-bit float, so that
//! what is read back is bit for bit what was computed from.

/// Channels → bytes.
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
