//! Bytes of a GLB: views of one buffer, accessors, the container of two chunks.
//!
//! # Source
//! glTF 2.0 (ISO/IEC 12113:2022), sections 3.6 (buffers, accessors) and 4 (GLB); numbers from memory, judged by trimesh in
//! `.ci/outside.py`.

use serde_json::{Map, Value, json};

use super::GltfError;

const MAGIC: &[u8; 4] = b"glTF";
const VERSION: u32 = 2;
const JSON_CHUNK: &[u8; 4] = b"JSON";
const BIN_CHUNK: &[u8; 4] = b"BIN\0";

const FLOAT: u32 = 5126;
const UNSIGNED_SHORT: u32 = 5123;
const UNSIGNED_INT: u32 = 5125;

/// What a view is used for.
const VERTICES: u32 = 34962;
const INDICES: u32 = 34963;

/// A buffer that grows.
#[derive(Debug, Default)]
pub(super) struct Buffer {
    bytes: Vec<u8>,
    views: Vec<Value>,
    accessors: Vec<Value>,
}

impl Buffer {
    fn view(&mut self, bytes: &[u8], target: Option<u32>) -> usize {
        // Every kind of number that is written here may begin at a multiple of four.
        self.bytes.resize(self.bytes.len().next_multiple_of(4), 0);
        let mut view = Map::new();
        view.insert("buffer".into(), json!(0));
        view.insert("byteOffset".into(), json!(self.bytes.len()));
        view.insert("byteLength".into(), json!(bytes.len()));
        if let Some(target) = target {
            view.insert("target".into(), json!(target));
        }
        self.bytes.extend_from_slice(bytes);
        self.views.push(Value::Object(view));
        self.views.len() - 1
    }

    fn floats<const N: usize>(
        &mut self,
        list: &[[f32; N]],
        kind: &str,
        target: Option<u32>,
        told: Told,
    ) -> usize {
        let bytes: Vec<u8> = list.iter().flatten().flat_map(|value| value.to_le_bytes()).collect();
        let view = self.view(&bytes, target);
        let mut accessor =
            json!({"bufferView": view, "componentType": FLOAT, "count": list.len(), "type": kind});
        if told == Told::WithBounds {
            let bound = |pick: fn(f32, f32) -> f32| -> Vec<f32> {
                (0..N).map(|axis| list.iter().map(|row| row[axis]).reduce(pick).unwrap_or(0.0)).collect()
            };
            accessor["min"] = json!(bound(f32::min));
            accessor["max"] = json!(bound(f32::max));
        }
        self.accessors.push(accessor);
        self.accessors.len() - 1
    }

    /// Places of vertices, with the bounds that the standard asks for.
    pub fn positions(&mut self, list: &[[f32; 3]]) -> usize {
        self.floats(list, "VEC3", Some(VERTICES), Told::WithBounds)
    }

    /// Normals of vertices.
    pub fn normals(&mut self, list: &[[f32; 3]]) -> usize {
        self.floats(list, "VEC3", Some(VERTICES), Told::Plain)
    }

    /// Corners of triangles by their vertices' numbers.
    pub fn indices(&mut self, list: &[u32]) -> usize {
        // The greatest number of a kind is kept for other uses by the standard.
        let short = list.iter().all(|index| *index < u32::from(u16::MAX));
        let bytes: Vec<u8> = match short {
            true => list.iter().flat_map(|index| (*index as u16).to_le_bytes()).collect(),
            false => list.iter().flat_map(|index| index.to_le_bytes()).collect(),
        };
        let view = self.view(&bytes, Some(INDICES));
        let kind = if short { UNSIGNED_SHORT } else { UNSIGNED_INT };
        self.accessors
            .push(json!({"bufferView": view, "componentType": kind, "count": list.len(), "type": "SCALAR"}));
        self.accessors.len() - 1
    }

    /// Times of keys, seconds.
    pub fn times(&mut self, list: &[f32]) -> usize {
        let rows: Vec<[f32; 1]> = list.iter().map(|time| [*time]).collect();
        self.floats(&rows, "SCALAR", None, Told::WithBounds)
    }

    /// Shifts, metres, or scales.
    pub fn keys3(&mut self, list: &[[f32; 3]]) -> usize {
        self.floats(list, "VEC3", None, Told::Plain)
    }

    /// Turns, quaternions x y z w.
    pub fn keys4(&mut self, list: &[[f32; 4]]) -> usize {
        self.floats(list, "VEC4", None, Told::Plain)
    }

    /// The whole file: the document with this buffer in it.
    pub fn into_glb(mut self, mut document: Map<String, Value>) -> Result<Vec<u8>, GltfError> {
        self.bytes.resize(self.bytes.len().next_multiple_of(4), 0);
        if !self.bytes.is_empty() {
            document.insert("accessors".into(), Value::Array(self.accessors));
            document.insert("bufferViews".into(), Value::Array(self.views));
            document.insert("buffers".into(), json!([{"byteLength": self.bytes.len()}]));
        }
        let mut text = Value::Object(document).to_string().into_bytes();
        text.resize(text.len().next_multiple_of(4), b' ');
        let bin_chunk = if self.bytes.is_empty() { 0 } else { 8 + self.bytes.len() };
        let length = 12 + 8 + text.len() + bin_chunk;
        let too_large = || GltfError::TooLarge { bytes: length as u64 };
        let mut file = Vec::with_capacity(length);
        file.extend_from_slice(MAGIC);
        file.extend_from_slice(&VERSION.to_le_bytes());
        file.extend_from_slice(&u32::try_from(length).map_err(|_| too_large())?.to_le_bytes());
        let mut chunk = |kind: &[u8; 4], bytes: &[u8]| {
            // No longer than the file, whose length was looked at.
            file.extend_from_slice(&(bytes.len() as u32).to_le_bytes());
            file.extend_from_slice(kind);
            file.extend_from_slice(bytes);
        };
        chunk(JSON_CHUNK, &text);
        if !self.bytes.is_empty() {
            chunk(BIN_CHUNK, &self.bytes);
        }
        Ok(file)
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Told {
    Plain,
    WithBounds,
}

/// Who wrote a GLB, as its document says; `None` where it is no GLB or does not say.
pub fn glb_generator(bytes: &[u8]) -> Option<String> {
    let length = u32::from_le_bytes(bytes.get(12..16)?.try_into().ok()?) as usize;
    if bytes.get(..4)? != MAGIC || bytes.get(16..20)? != JSON_CHUNK {
        return None;
    }
    let text = bytes.get(20..20usize.checked_add(length)?)?;
    let document: Value = serde_json::from_slice(text).ok()?;
    Some(document.get("asset")?.get("generator")?.as_str()?.to_owned())
}
