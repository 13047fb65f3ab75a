//! A scene packed, sent and unpacked; and archives that mean harm.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::io::{Cursor, Write};
use std::path::{Path, PathBuf};

use baywright::scene::{ArchiveError, Scene, UnpackLimits, pack, unpack, unpack_with};
use sha2::{Digest, Sha256};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

fn scene_folder() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let write = |path: &str, text: &str| {
        let path = folder.path().join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    };
    write(
        "bay.yaml",
        "baywright: 1
include: [house:rules/common, parts/b.yaml]
surveys: {s: {file: surveys/s.csv, instrument: probe, sigma: 1}}
bodies: {wall: {fit: {plane: {survey: s, marks: [A, B, C], thickness: 1, solid_side: down}}}}
",
    );
    write("parts/b.yaml", "bodies: {wedge: {shape: {mesh: {file: wedge.obj}}}}\n");
    write("parts/wedge.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n");
    write("surveys/s.csv", "mark,x,y,z\nA,0,0,0\nB,100,0,0\nC,0,100,0\n");
    write("not-named.txt", "nobody asked for this");
    let path = folder.path().join("bay.yaml");
    (folder, path)
}

#[test]
fn a_scene_goes_round_and_the_bytes_are_the_same_each_time() {
    let (_keep, scene) = scene_folder();
    let out = tempfile::tempdir().unwrap();
    let (first, second) = (out.path().join("a.bay"), out.path().join("b.bay"));
    let packed = pack(&scene, &first).unwrap();
    pack(&scene, &second).unwrap();
    assert_eq!(std::fs::read(&first).unwrap(), std::fs::read(&second).unwrap());
    let names: Vec<String> = packed.files.iter().map(|file| file.to_string_lossy().into_owned()).collect();
    assert_eq!(names, ["bay.yaml", "parts/b.yaml", "parts/wedge.obj", "surveys/s.csv"], "only what it names");

    let folder = out.path().join("there");
    let unpacked = unpack(&first, &folder).unwrap();
    assert_eq!(unpacked.scene, folder.join("bay.yaml"));
    assert!(!unpacked.is_other_library);
    for name in &packed.files {
        let (here, there) = (scene.with_file_name("").join(name), folder.join(name));
        assert_eq!(std::fs::read(here).unwrap(), std::fs::read(there).unwrap(), "{}", name.display());
    }
    let (here, there) = (Scene::load(&scene).unwrap(), Scene::load(&unpacked.scene).unwrap());
    assert_eq!(here.bodies.len(), there.bodies.len());
    assert_eq!(here.files, there.files);
    assert_eq!(std::fs::read_dir(out.path()).unwrap().count(), 3, "nothing is left beside");
}

#[test]
fn the_entries_are_sorted_and_bear_one_date() {
    let (keep, scene) = scene_folder();
    let archive = keep.path().join("a.bay");
    pack(&scene, &archive).unwrap();
    let mut zip = zip::ZipArchive::new(std::fs::File::open(&archive).unwrap()).unwrap();
    let mut names = Vec::new();
    for index in 0..zip.len() {
        let entry = zip.by_index(index).unwrap();
        assert_eq!(entry.last_modified(), Some(zip::DateTime::DEFAULT));
        names.push(entry.name().unwrap().into_owned());
    }
    let mut sorted = names.clone();
    sorted.sort();
    assert_eq!(names, sorted);
}

#[test]
fn a_broken_scene_is_not_packed() {
    let (keep, scene) = scene_folder();
    std::fs::write(&scene, "baywright: 2\n").unwrap();
    let out = keep.path().join("a.bay");
    assert!(matches!(pack(&scene, &out), Err(ArchiveError::Faults(_))));
    assert!(!out.exists());
}

/// An archive by hand: entries with their unix mode, and a manifest that lists what it is told.
struct Crafted {
    entries: Vec<(String, Vec<u8>, u32)>,
    manifest: Option<String>,
}

fn listed(path: &str, bytes: &[u8]) -> String {
    let hash: String = Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    format!("{{\"path\": {path:?}, \"size\": {}, \"sha256\": {hash:?}}}", bytes.len())
}

fn manifest(scene: &str, files: &[String]) -> String {
    format!(
        "{{\"format\": 1, \"scene_format\": 1, \"scene\": {scene:?}, \"house\": \"\", \"files\": [{}]}}",
        files.join(", ")
    )
}

const BAY: &[u8] = b"baywright: 1\n";

impl Crafted {
    /// A sound archive of one file, to be spoilt.
    fn sound() -> Self {
        Crafted {
            entries: vec![("scene/bay.yaml".into(), BAY.to_vec(), 0o644)],
            manifest: Some(manifest("bay.yaml", &[listed("bay.yaml", BAY)])),
        }
    }

    fn with(mut self, name: &str, bytes: &[u8], mode: u32) -> Self {
        self.entries.push((name.into(), bytes.to_vec(), mode));
        let path = name.strip_prefix("scene/").unwrap_or(name);
        self.manifest = Some(manifest("bay.yaml", &[listed("bay.yaml", BAY), listed(path, bytes)]));
        self
    }

    fn bytes(&self) -> Vec<u8> {
        let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
        let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
        if let Some(text) = &self.manifest {
            zip.start_file("manifest.json", options).unwrap();
            zip.write_all(text.as_bytes()).unwrap();
        }
        for (name, bytes, mode) in &self.entries {
            if mode & 0o170_000 == 0o120_000 {
                zip.add_symlink(name.as_str(), String::from_utf8_lossy(bytes).into_owned(), options).unwrap();
            } else {
                zip.start_file(name.as_str(), options.unix_permissions(*mode)).unwrap();
                zip.write_all(bytes).unwrap();
            }
        }
        zip.finish().unwrap().into_inner()
    }
}

/// Unpacks bytes and makes sure that a refusal leaves nothing behind.
fn unpacked(bytes: &[u8], limits: &UnpackLimits) -> Result<String, String> {
    let place = tempfile::tempdir().unwrap();
    let (archive, folder) = (place.path().join("in.bay"), place.path().join("out"));
    std::fs::write(&archive, bytes).unwrap();
    let result = unpack_with(&archive, &folder, limits);
    match result {
        Ok(unpacked) => {
            Ok(unpacked.files.iter().map(|file| file.display().to_string()).collect::<Vec<_>>().join(" "))
        }
        Err(error) => {
            assert!(!folder.exists(), "a refused archive left its folder: {error}");
            assert_eq!(std::fs::read_dir(place.path()).unwrap().count(), 1, "left beside: {error}");
            Err(error.to_string())
        }
    }
}

#[test]
fn what_means_harm_is_refused_by_name_and_reason() {
    let usual = UnpackLimits::default();
    assert_eq!(
        unpacked(&Crafted::sound().bytes(), &usual),
        Ok("bay.yaml".into()),
        "what is spoilt below is sound"
    );
    let mut told = String::new();
    let mut refuse = |case: &str, bytes: Vec<u8>, limits: &UnpackLimits| {
        let error = unpacked(&bytes, limits).expect_err(case);
        told.push_str(&format!("{case}\n    {error}\n"));
    };
    for (case, name) in [
        ("a path that climbs", "scene/../../out.txt"),
        ("an absolute path", "/tmp/out.txt"),
        ("a drive", "C:/out.txt"),
        ("a backslash", "scene/..\\out.txt"),
        ("outside the folder of the scene", "readme.txt"),
        ("a device", "scene/nul.csv"),
        ("a control sign", "scene/a\u{1b}[31m.csv"),
        ("its name but for case", "scene/BAY.yaml"),
        ("a file where a folder is due", "scene/bay.yaml/x.csv"),
    ] {
        refuse(case, Crafted::sound().with(name, b"x", 0o644).bytes(), &usual);
    }
    refuse("a link", Crafted::sound().with("scene/link", b"/etc/hosts", 0o120_777).bytes(), &usual);
    refuse(
        "not listed",
        {
            let mut crafted = Crafted::sound();
            crafted.entries.push(("scene/more.csv".into(), b"x".to_vec(), 0o644));
            crafted.bytes()
        },
        &usual,
    );
    refuse(
        "listed and not there",
        {
            let mut crafted = Crafted::sound();
            crafted.manifest =
                Some(manifest("bay.yaml", &[listed("bay.yaml", BAY), listed("gone.csv", b"x")]));
            crafted.bytes()
        },
        &usual,
    );
    refuse(
        "listed twice",
        {
            let mut crafted = Crafted::sound();
            crafted.manifest =
                Some(manifest("bay.yaml", &[listed("bay.yaml", BAY), listed("bay.yaml", BAY)]));
            crafted.bytes()
        },
        &usual,
    );
    refuse(
        "another hash",
        {
            let mut crafted = Crafted::sound();
            crafted.manifest = Some(manifest("bay.yaml", &[listed("bay.yaml", b"baywright: 2\n")]));
            crafted.bytes()
        },
        &usual,
    );
    refuse(
        "another size",
        {
            let mut crafted = Crafted::sound();
            crafted.manifest = Some(manifest("bay.yaml", &[listed("bay.yaml", b"baywright: 1")]));
            crafted.bytes()
        },
        &usual,
    );
    refuse(
        "no scene",
        {
            let mut crafted = Crafted::sound();
            crafted.manifest = Some(manifest("other.yaml", &[listed("bay.yaml", BAY)]));
            crafted.bytes()
        },
        &usual,
    );
    refuse("no manifest", Crafted { manifest: None, ..Crafted::sound() }.bytes(), &usual);
    refuse(
        "a manifest of tomorrow",
        {
            let text = manifest("bay.yaml", &[listed("bay.yaml", BAY)]).replacen(
                "\"format\": 1",
                "\"format\": 9",
                1,
            );
            Crafted { manifest: Some(text), ..Crafted::sound() }.bytes()
        },
        &usual,
    );
    refuse(
        "a manifest that is none",
        Crafted { manifest: Some("[]".into()), ..Crafted::sound() }.bytes(),
        &usual,
    );
    let zeros = vec![0u8; 3 << 20];
    refuse("a bomb by ratio", Crafted::sound().with("scene/zeros.csv", &zeros, 0o644).bytes(), &usual);
    let tight = UnpackLimits { total_bytes: 1000, ..usual };
    refuse(
        "more bytes than allowed",
        Crafted::sound().with("scene/zeros.csv", &zeros, 0o644).bytes(),
        &tight,
    );
    let few = UnpackLimits { entries: 2, ..usual };
    refuse("more entries than allowed", Crafted::sound().with("scene/x.csv", b"x", 0o644).bytes(), &few);
    refuse("cut short", Crafted::sound().bytes()[..120].to_vec(), &usual);
    refuse("no zip at all", b"hello".to_vec(), &usual);
    refuse("empty", Vec::new(), &usual);
    insta::assert_snapshot!(told);
}

#[test]
fn two_entries_of_one_name_are_refused() {
    // The writer refuses to make one, so a second name is patched to the first's: both are as long.
    let bytes = Crafted::sound().with("scene/bay.yamx", b"x", 0o644).bytes();
    let patched: Vec<u8> = {
        let mut out = bytes;
        let find = b"scene/bay.yamx";
        let mut at = 0;
        while let Some(found) = out[at..].windows(find.len()).position(|window| window == find) {
            out[at + found + find.len() - 1] = b'l';
            at += found + find.len();
        }
        out
    };
    let error = unpacked(&patched, &UnpackLimits::default()).unwrap_err();
    assert!(error.contains("two entries bear the same name"), "{error}");
}

#[test]
fn damaged_bytes_are_never_taken_for_sound_ones() {
    let (keep, scene) = scene_folder();
    let archive = keep.path().join("a.bay");
    pack(&scene, &archive).unwrap();
    let sound = std::fs::read(&archive).unwrap();
    let folder = keep.path().join("sound");
    let want: Vec<Vec<u8>> = unpack(&archive, &folder)
        .unwrap()
        .files
        .iter()
        .map(|file| std::fs::read(folder.join(file)).unwrap())
        .collect();
    let mut refused = 0;
    for at in 0..sound.len() {
        let mut bytes = sound.clone();
        bytes[at] ^= 0x24;
        let place = keep.path().join(format!("spoilt-{at}"));
        std::fs::write(&archive, &bytes).unwrap();
        match unpack(&archive, &place) {
            Err(_) => {
                refused += 1;
                assert!(!place.exists(), "byte {at}");
            }
            Ok(unpacked) => {
                // A date, say: nothing that counts. Names and contents must be what was packed.
                let got: Vec<Vec<u8>> =
                    unpacked.files.iter().map(|file| std::fs::read(place.join(file)).unwrap()).collect();
                assert_eq!(got, want, "byte {at}");
                std::fs::remove_dir_all(&place).unwrap();
            }
        }
    }
    assert!(refused > sound.len() / 2, "{refused} of {}", sound.len());
}

#[test]
fn a_folder_with_something_in_it_is_left_alone_and_an_empty_one_is_filled() {
    let (keep, scene) = scene_folder();
    let archive = keep.path().join("a.bay");
    pack(&scene, &archive).unwrap();
    let error = unpack(&archive, keep.path()).unwrap_err();
    assert!(matches!(error, ArchiveError::NotEmpty { .. }), "{error}");
    let empty = keep.path().join("empty");
    std::fs::create_dir(&empty).unwrap();
    unpack(&archive, &empty).unwrap();
    assert!(Path::new(&empty.join("surveys/s.csv")).exists());
}
