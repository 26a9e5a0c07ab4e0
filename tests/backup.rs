//! The backup file: what goes in comes out, whatever the pieces; what is cut, changed or hostile says so and costs no memory.
mod stores;

use sha2::{Digest, Sha256};
use std::time::{Duration, Instant};
use tarsal::invented::Random;
use tarsal::records::moving::backup::{Block, Found, Header, Item, Lock, Outcome, Reader, Store, Writer, read, write};
use tarsal::records::moving::frames::{FrameKind, FrameReader, FrameWriter, MAGIC, MOST_FRAME_BYTES, MOST_PAYLOAD_BYTES};
use tarsal::records::moving::{BackupError, Fault};

/// A frame being read is at most this, its buffer having grown by doubling.
const MOST_HELD: usize = 2 * MOST_FRAME_BYTES;

fn written(items: &[Item]) -> Vec<u8> {
    let mut file = Vec::new();
    write(Header::new(2, None), items, None, &mut |piece| {
        assert!(piece.len() <= MOST_FRAME_BYTES + MAGIC.len());
        file.extend(piece);
    })
    .expect("items that fit");
    file
}

fn all(file: &[u8]) -> Result<(Vec<Item>, Outcome), BackupError> {
    let mut items = Vec::new();
    let outcome = read([file], None, &mut |item| items.push(item))?;
    Ok((items, outcome))
}

/// Reads on past damage; the faults met on the way. No item is longer than `longest`.
fn salvaged(file: &[u8], longest: usize) -> (Vec<Item>, Vec<BackupError>, Option<Outcome>) {
    let (mut reader, mut rest) = (Reader::new(true), file);
    let (mut items, mut faults) = (Vec::new(), Vec::new());
    loop {
        assert!(reader.held_bytes() <= MOST_HELD + 2 * longest, "{}", reader.held_bytes());
        match reader.feed(rest) {
            Ok((taken, found)) => {
                rest = &rest[taken..];
                match found {
                    Some(Found::Block(block)) => match reader.open(&block, &block.payload) {
                        Ok(some) => items.extend(some),
                        Err(error) => faults.push(error),
                    },
                    Some(Found::Lost(error)) => faults.push(error),
                    Some(Found::Header(_)) => {}
                    None if rest.is_empty() => break,
                    None => {}
                }
            }
            Err(error) => {
                faults.push(error);
                break;
            }
        }
    }
    (items, faults, reader.finish().ok())
}

/// Where each frame begins, and the file's end.
fn frames(file: &[u8]) -> Vec<usize> {
    let mut places = vec![MAGIC.len()];
    let mut at = MAGIC.len();
    while let Some(length) = file.get(at + 1..at + 5) {
        at += 37 + u32::from_le_bytes(length.try_into().unwrap()) as usize;
        places.push(at);
    }
    places
}

#[test]
fn what_goes_in_comes_out_and_goes_in_again_as_the_same_bytes() {
    let items = stores::items(&mut Random::new(1), 150);
    let file = written(&items);
    let (back, outcome) = all(&file).unwrap();
    assert_eq!(back, items);
    assert_eq!(written(&back), file);
    assert!(outcome.complete);
    assert_eq!(outcome.counts.records as usize, items.iter().filter(|i| i.store == Store::Record).count());
    assert_eq!(outcome.counts.bytes as usize, items.iter().map(|i| i.bytes.len()).sum::<usize>());
    let (records, force): (Vec<&Item>, Vec<&Item>) = items.iter().partition(|i| i.store == Store::Record);
    let size = |items: &[&Item]| items.iter().map(|i| i.bytes.len()).sum::<usize>();
    println!("{} B of records, {} B of force → {} B, {} frames", size(&records), size(&force), file.len(), outcome.counts.frames);
    for (name, part) in [("records", &records), ("force", &force)] {
        let own: Vec<Item> = part.iter().map(|i| (*i).clone()).collect();
        println!("  {name}: {} → {}", size(part), written(&own).len());
    }
}

#[test]
fn an_empty_store_and_any_order_are_stores_too() {
    assert_eq!(all(&written(&[])).unwrap().0, []);
    let mut items = stores::items(&mut Random::new(2), 20);
    let mut random = Random::new(3);
    for i in (1..items.len()).rev() {
        items.swap(i, (random.bits() % (i as u64 + 1)) as usize);
    }
    let file = written(&items);
    assert_eq!(all(&file).unwrap().0, items);
}

#[test]
fn the_size_of_the_pieces_never_matters() {
    let items = stores::items(&mut Random::new(4), 24);
    let file = written(&items);
    let mut random = Random::new(5);
    for most in [1, 2, 7, 4096, 1 << 20] {
        let (mut pieces, mut rest) = (Vec::new(), file.as_slice());
        while !rest.is_empty() {
            let (piece, after) = rest.split_at(((random.bits() % most) as usize + 1).min(rest.len()));
            pieces.push(piece);
            rest = after;
        }
        let mut back = Vec::new();
        let outcome = read(pieces, None, &mut |item| back.push(item)).unwrap();
        assert!(outcome.complete && back == items, "pieces up to {most}");
    }
}

#[test]
fn what_is_longer_than_a_frame_is_cut_and_joined() {
    let mut random = Random::new(6);
    let noise = |random: &mut Random, n: usize| -> Vec<u8> { (0..n / 8).flat_map(|_| random.bits().to_le_bytes()).collect() };
    let mut items = Vec::new();
    for (i, length) in [3 << 20, MOST_PAYLOAD_BYTES, MOST_PAYLOAD_BYTES - 17, MOST_PAYLOAD_BYTES - 25, 64].into_iter().enumerate() {
        items.push(Item { store: Store::Force, key: format!("long {i}"), bytes: noise(&mut random, length) });
        items.push(Item { store: Store::Record, key: format!("long {i}"), bytes: "text ".repeat(length / 5).into_bytes() });
    }
    let file = written(&items);
    assert_eq!(all(&file).unwrap().0, items);
    // A lost part costs that item and no other.
    let places = frames(&file);
    let mut hurt = file.clone();
    hurt[places[3] + 50] ^= 1;
    let (back, faults, outcome) = salvaged(&hurt, 3 << 20);
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert_eq!(faults[0].frame, 3);
    assert_eq!(back, items[1..]);
    assert!(!outcome.unwrap().complete);
}

#[test]
fn what_is_too_long_is_refused_before_anything_is_lost() {
    let mut writer = Writer::new(Header::new(2, None));
    writer.begin().unwrap();
    let key = Item { store: Store::Record, key: "k".repeat(70_000), bytes: vec![] };
    assert_eq!(writer.add(&key).unwrap_err().fault, Fault::TooLarge);
    let long = Item { store: Store::Force, key: "k".into(), bytes: vec![0; (64 << 20) + 1] };
    assert_eq!(writer.add(&long).unwrap_err().fault, Fault::TooLarge);
    assert!(writer.flush().is_none());
}

#[test]
fn a_file_cut_anywhere_is_not_taken_for_whole() {
    let items = stores::items(&mut Random::new(7), 60);
    let file = written(&items);
    let mut cuts: Vec<usize> = frames(&file).iter().flat_map(|at| [at.saturating_sub(1), *at, at + 1, at + 5, at + 20]).collect();
    cuts.extend(0..=MAGIC.len());
    cuts.extend((0..file.len()).step_by(file.len() / 211 + 1));
    for cut in cuts.into_iter().filter(|cut| *cut < file.len()) {
        let error = all(&file[..cut]).unwrap_err();
        let expected = if cut == 0 { Fault::Foreign } else { Fault::Cut };
        assert_eq!(error.fault, expected, "cut at {cut}: {error}");
        let (back, _, outcome) = salvaged(&file[..cut], 0);
        assert!(items.starts_with(&back) && !outcome.unwrap().complete);
    }
}

#[test]
fn a_changed_byte_is_found_where_it_is_and_costs_one_frame() {
    let items = stores::items(&mut Random::new(8), 120);
    let file = written(&items);
    let places = frames(&file);
    let mut random = Random::new(9);
    for (number, span) in places.windows(2).enumerate() {
        let [from, to] = *span else { unreachable!() };
        for _ in 0..6 {
            let at = from + (random.bits() % (to - from) as u64) as usize;
            let mut hurt = file.clone();
            hurt[at] ^= 1 << (random.bits() % 8);
            let error = all(&hurt).unwrap_err();
            let known = matches!(error.fault, Fault::Damaged | Fault::Cut);
            assert!(known && error.frame == number as u64 && error.byte == from as u64, "byte {at} of frame {number}: {error}");
            // Where not even the frame's length is changed, all other frames are kept.
            if number > 0 && at >= from + 5 {
                let (back, faults, outcome) = salvaged(&hurt, 0);
                assert_eq!(faults.len(), 1, "{faults:?}");
                assert!(!outcome.unwrap().complete && back.iter().all(|item| items.contains(item)));
                assert!(back.len() < items.len() || number == places.len() - 2);
            }
        }
    }
}

#[test]
fn frames_swapped_doubled_left_out_or_from_another_file_are_found() {
    let items = stores::items(&mut Random::new(10), 400);
    let (file, other) = (written(&items), written(&items[1..]));
    let places = frames(&file);
    assert!(places.len() > 6, "{} frames", places.len());
    let part = |i: usize| &file[places[i]..places[i + 1]];
    let count = places.len() - 1;
    let build = |order: &[usize]| -> Vec<u8> { MAGIC.iter().copied().chain(order.iter().flat_map(|i| part(*i).to_vec())).collect() };
    let mut swapped: Vec<usize> = (0..count).collect();
    swapped.swap(2, 3);
    let doubled: Vec<usize> = (0..3).chain(2..count).collect();
    let left_out: Vec<usize> = (0..count).filter(|i| *i != 2).collect();
    for (order, frame) in [(swapped, 2), (doubled, 3), (left_out, 2)] {
        let error = all(&build(&order)).unwrap_err();
        assert_eq!((error.fault, error.frame), (Fault::Damaged, frame), "{error}");
    }
    // A frame of another backup at the same place is whole, but not of this file: the end knows.
    let theirs = frames(&other);
    let mixed = [&file[..places[1]], &other[theirs[1]..theirs[2]], &file[places[2]..]].concat();
    let error = all(&mixed).unwrap_err();
    assert_eq!((error.fault, error.frame), (Fault::Damaged, count as u64 - 1), "{error}");
    let error = all(&[file.as_slice(), b"x"].concat()).unwrap_err();
    assert_eq!(error.fault, Fault::Damaged);
    assert!(error.to_string().contains("after the end"), "{error}");
}

#[test]
fn foreign_and_newer_files_and_hostile_lengths_cost_nothing() {
    let fault = |bytes: &[u8]| all(bytes).unwrap_err();
    assert_eq!(fault(b"time_s,left_N,right_N\n0,1,2\n").fault, Fault::Foreign);
    assert_eq!(fault(b"tars").fault, Fault::Cut);
    assert_eq!(fault(b"tarx").fault, Fault::Foreign);
    assert_eq!(fault(b"tarsal-backup 1\nanything").fault, Fault::Foreign);
    assert_eq!(fault(b"tarsal-backup 3\nanything").fault, Fault::Newer);
    let mut frames = FrameWriter::default();
    let header = frames.frame(FrameKind::Header, br#"{"format":7,"schema":1,"lock":null}"#).unwrap();
    assert_eq!(fault(&[MAGIC, &header].concat()).fault, Fault::Newer);
    for lock in [r#"{"kdf":"PBKDF2-HMAC-SHA-256","iterations":4000000000,"salt":"00","cipher":"AES-256-GCM","nonce":"00000000"}"#, "7"] {
        let header = FrameWriter::default().frame(FrameKind::Header, format!(r#"{{"format":2,"schema":1,"lock":{lock}}}"#).as_bytes());
        assert!(matches!(fault(&[MAGIC, &header.unwrap()].concat()).fault, Fault::Newer | Fault::Damaged));
    }
    // A frame that claims four gigabytes: refused by its number, and the room kept stays that of its head.
    let mut reader = FrameReader::new(false);
    let begun = [MAGIC, b"H\xff\xff\xff\xff"].concat();
    let error = reader.feed(&begun).unwrap_err();
    assert_eq!((error.frame, error.byte, error.fault), (0, 16, Fault::Damaged));
    assert!(reader.held_bytes() < 100 && error.to_string().contains("4294967295"), "{error}");
    // A frame that claims the most there may be and brings ten bytes keeps room for ten.
    let mut reader = FrameReader::new(false);
    let claims = [MAGIC, b"H", &(MOST_PAYLOAD_BYTES as u32).to_le_bytes(), &[0; 10]].concat();
    assert_eq!(reader.feed(&claims).unwrap(), (claims.len(), None));
    assert!(reader.held_bytes() < 100);
    assert_eq!(reader.finish().unwrap_err().fault, Fault::Cut);
}

/// A file of one header and blocks of these payloads, its digests right: only what is in the blocks can be wrong.
fn around(blocks: &[(FrameKind, Vec<u8>)]) -> Vec<u8> {
    let mut frames = FrameWriter::default();
    let mut file = MAGIC.to_vec();
    file.extend(frames.frame(FrameKind::Header, br#"{"format":2,"schema":2,"lock":null}"#).unwrap());
    for (kind, payload) in blocks {
        file.extend(frames.frame(*kind, payload).unwrap());
    }
    file
}

#[test]
fn hostile_blocks_are_refused() {
    let bomb = miniz_oxide::deflate::compress_to_vec(&vec![0; 500 << 20], 6);
    let bomb = [&[1][..], &bomb].concat();
    assert!(bomb.len() < MOST_PAYLOAD_BYTES);
    let item = |flags: u8, key: &[u8], says: u32, bytes: &[u8]| {
        let mut out = vec![0, flags];
        out.extend((key.len() as u16).to_le_bytes());
        out.extend(key);
        out.extend(says.to_le_bytes());
        out.extend(bytes);
        out
    };
    for (payload, found) in [
        (bomb, "without end"),
        (vec![], "empty block"),
        (vec![9, 1], "coding 9"),
        (vec![1, 0xff, 0xff], "cannot be unpacked"),
        (vec![0, 0], "cut short"),
        (item(0, b"k", u32::MAX, b"x"), "cut short"),
        (item(8, b"k", 1, b"x"), "flags"),
        (item(0, &[0xff], 1, b"x"), "UTF-8"),
        (item(4, b"k", 1, b"x"), "the rest of"),
        ([item(1, b"k", 1, b"x"), item(4, b"l", 1, b"x")[1..].to_vec()].concat(), "\"l\""),
        ([item(1, b"k", 1, b"x"), item(0, b"k", 1, b"x")[1..].to_vec()].concat(), "\"k\""),
    ] {
        let error = all(&around(&[(FrameKind::Records, payload)])).unwrap_err();
        assert!(error.fault == Fault::Damaged && error.frame == 1 && error.found.contains(found), "{error}");
        assert!(!error.expected.is_empty() && error.to_string().contains("Try: "));
    }
    // The start of an item without its rest is no end.
    let end = r#"{"frames":2,"records":0,"force":0,"bytes":0,"sha256":""}"#.as_bytes().to_vec();
    assert!(all(&around(&[(FrameKind::Records, item(1, b"k", 1, b"x")), (FrameKind::End, end)])).is_err());
    // An item that never ends meets the limit of one item.
    let endless: Vec<(FrameKind, Vec<u8>)> =
        (0..70).map(|i| (FrameKind::Force, item(if i == 0 { 1 } else { 5 }, b"k", 1_040_000, &vec![7; 1_040_000]))).collect();
    assert!(all(&around(&endless)).unwrap_err().found.contains("more than"));
}

/// A stand-in for the browser's cipher, bound to nonce and associated data and with a tag, but of no strength.
fn mask(block: &Block, pass: &str, bytes: &[u8]) -> Vec<u8> {
    let nonce = block.nonce.expect("a locked file's nonce");
    let mut out = Vec::with_capacity(bytes.len());
    for (i, chunk) in bytes.chunks(32).enumerate() {
        let key = Sha256::digest([pass.as_bytes(), &nonce, &i.to_le_bytes()].concat());
        out.extend(chunk.iter().zip(key).map(|(byte, key)| byte ^ key));
    }
    out
}

fn tag(block: &Block, pass: &str, plain: &[u8]) -> Vec<u8> {
    Sha256::digest([pass.as_bytes(), &block.associated, plain].concat())[..16].to_vec()
}

fn open_with(pass: &str) -> impl FnMut(&Block) -> Result<Vec<u8>, BackupError> {
    let pass = pass.to_owned();
    move |block| {
        let (body, said) = block.payload.split_last_chunk::<16>().ok_or_else(|| BackupError::locked(block.number, block.byte))?;
        let plain = mask(block, &pass, body);
        if tag(block, &pass, &plain) == said { Ok(plain) } else { Err(BackupError::locked(block.number, block.byte)) }
    }
}

#[test]
fn a_locked_file_opens_with_its_passphrase_alone_and_shows_nothing() {
    let items = stores::items(&mut Random::new(11), 60);
    let lock = Lock::new([7; 16], [1, 2, 3, 4]);
    let (mut file, mut nonces) = (Vec::new(), std::collections::BTreeSet::new());
    let mut seal = |block: &Block| {
        assert!(nonces.insert(block.nonce), "a nonce twice");
        let mut sealed = mask(block, "an invented passphrase", &block.payload);
        sealed.extend(tag(block, "an invented passphrase", &block.payload));
        Ok(sealed)
    };
    let mut out = |piece: Vec<u8>| {
        assert!(piece.len() <= MOST_FRAME_BYTES + MAGIC.len());
        file.extend(piece);
    };
    write(Header::new(2, Some(lock)), &items, Some(&mut seal), &mut out).unwrap();
    assert!(nonces.iter().flatten().all(|n| n[..4] == [1, 2, 3, 4]));
    let mut back = Vec::new();
    let outcome = read([file.as_slice()], Some(&mut open_with("an invented passphrase")), &mut |item| back.push(item)).unwrap();
    assert!(outcome.complete && back == items);
    for word in ["Invented", "athlete", "records"] {
        assert!(!file.windows(word.len()).any(|w| w == word.as_bytes()), "{word} can be read");
    }
    let error = read([file.as_slice()], Some(&mut open_with("another")), &mut |_| panic!("opened")).unwrap_err();
    assert_eq!((error.fault, error.frame), (Fault::Locked, 1));
    // A locked file's block that was not sealed is not written.
    let mut writer = Writer::new(Header::new(2, Some(Lock::new([0; 16], [0; 4]))));
    writer.begin().unwrap();
    writer.add(&items[0]).unwrap();
    let block = writer.flush().unwrap();
    assert_eq!(writer.frame(&block, None).unwrap_err().fault, Fault::Order);
    assert!(writer.end().is_err());
}

#[test]
fn records_can_be_looked_at_without_unpacking_the_force() {
    let items = stores::items(&mut Random::new(12), 30);
    let file = written(&items);
    let (mut reader, mut rest, mut records) = (Reader::new(false), file.as_slice(), Vec::new());
    while !rest.is_empty() {
        let (taken, found) = reader.feed(rest).unwrap();
        rest = &rest[taken..];
        match found {
            Some(Found::Block(block)) if block.kind == FrameKind::Force => reader.pass(&block),
            Some(Found::Block(block)) => records.extend(reader.open(&block, &block.payload).unwrap()),
            _ => {}
        }
    }
    assert!(reader.finish().unwrap().complete);
    assert!(records.iter().eq(items.iter().filter(|i| i.store == Store::Record)));
}

/// Changed files for so many seconds (`TARSAL_FUZZ_SECONDS`, else 5): nothing panics, memory stays bounded, and what is
/// taken for whole is what was written. Half are changed anywhere, half inside blocks whose digests are then made right.
#[test]
fn mutations_never_pass_for_whole() {
    let seconds = std::env::var("TARSAL_FUZZ_SECONDS").ok().and_then(|s| s.parse().ok()).unwrap_or(5);
    let until = Instant::now() + Duration::from_secs(seconds);
    let mut random = Random::new(13);
    let mut items = stores::items(&mut random, 6);
    items.iter_mut().for_each(|item| item.bytes.truncate(1200));
    let file = written(&items);
    let places = frames(&file);
    let mut tried = 0_u64;
    while Instant::now() < until {
        tried += 1;
        let hurt = if tried.is_multiple_of(2) {
            mutate(&mut random, &file)
        } else {
            let mut blocks = Vec::new();
            for span in places.windows(2).skip(1) {
                let [from, to] = *span else { unreachable!() };
                let kind = [FrameKind::Records, FrameKind::Force, FrameKind::End].into_iter().find(|k| k.byte() == file[from]).unwrap();
                let payload = &file[from + 5..to - 32];
                let hurt = if random.bits().is_multiple_of(3) { mutate(&mut random, payload) } else { payload.to_vec() };
                blocks.push((kind, hurt[..hurt.len().min(MOST_PAYLOAD_BYTES)].to_vec()));
            }
            around(&blocks)
        };
        let (_, faults, outcome) = salvaged(&hurt, 0);
        match all(&hurt) {
            Ok((back, outcome)) => assert!(outcome.complete && back == items, "a changed file was taken for whole"),
            Err(error) => {
                assert!(!error.to_string().is_empty());
                assert!(!faults.is_empty() || !outcome.is_some_and(|o| o.complete), "{error}");
            }
        }
    }
    println!("{tried} changed files in {seconds} s");
}

fn mutate(random: &mut Random, bytes: &[u8]) -> Vec<u8> {
    let mut hurt = bytes.to_vec();
    for _ in 0..1 + random.bits() % 4 {
        if hurt.is_empty() {
            break;
        }
        let at = (random.bits() % hurt.len() as u64) as usize;
        match random.bits() % 6 {
            0 => hurt[at] ^= 1 << (random.bits() % 8),
            1 => hurt[at] = [0, 0xff, 0x7f, 0x80][(random.bits() % 4) as usize],
            2 => hurt.truncate(at),
            3 => drop(hurt.splice(at..at, random.bits().to_le_bytes())),
            4 => drop(hurt.drain(at..(at + 1 + (random.bits() % 40) as usize).min(hurt.len()))),
            _ => {
                let to = (at + 4).min(hurt.len());
                hurt[at..to].fill(0xff);
            }
        }
    }
    hurt
}

/// Version 1, which the page writes: an item longer than its frames once made a file that could not be read back.
#[test]
fn version_one_reads_back_the_force_of_a_long_trial() {
    use tarsal::records::backup as one;
    let force: Vec<u8> = (0..9_u32 << 20).map(|i| (i >> 3) as u8).collect();
    let mut payload = Vec::new();
    one::put_item(&mut payload, one::Store::Samples, "long", &force);
    let mut writer = one::Writer::default();
    let mut file = writer.begin(&one::Header { format: 1, schema: 2, lock: None });
    file.extend(writer.data(&payload, 1));
    file.extend(writer.end());
    let (mut reader, mut back) = (one::Reader::default(), Vec::new());
    for piece in file.chunks(1 << 16) {
        for found in reader.feed(piece).unwrap() {
            if let one::Found::Data(_, payload) = found {
                back.extend(one::items(&payload).unwrap());
            }
        }
    }
    assert_eq!(reader.finish(), Ok(()));
    assert!(back.len() == 1 && back[0].value == force);
}
