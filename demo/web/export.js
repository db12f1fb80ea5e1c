// The scene as GLB by three's own exporter: nodes, cameras, the light version of every mesh, and tracks sampled once a frame.
import * as THREE from "three";
import { withMorphTargets } from "./build.js";
import { GLTFExporter } from "three/addons/exporters/GLTFExporter.js";

// One plain colour; only what changes shape (a head) keeps its painted vertices.
function flat(object) {
  const { material, userData } = object;
  const painted = Boolean(userData.shapes);
  const color = material.color ? material.color.clone() : new THREE.Color(0xffffff);
  if (userData.tint && !painted) color.setRGB(...userData.tint);
  if (!painted) object.geometry.deleteAttribute("color");
  const out = new THREE.MeshStandardMaterial({ color, roughness: 0.7, vertexColors: painted });
  out.name = material.name;
  return out;
}

function withoutLights(object) {
  for (const child of [...object.children]) {
    if (child.isLight || child.userData.weather) object.remove(child);
    else withoutLights(child);
  }
}

// Keys of one track: all of them, or the first and last of what never moves.
function keys(Track, name, times, values, width) {
  let still = true;
  for (let i = width; i < values.length && still; i++) still = Math.abs(values[i] - values[i % width]) < 1e-7;
  const ends = [times[0], times[times.length - 1]];
  return still ? new Track(name, ends, [...values.slice(0, width), ...values.slice(0, width)]) : new Track(name, times, values);
}

function tracksOf(take, drawables) {
  const times = Float32Array.from({ length: take.n }, (_, i) => (i * take.rate_den) / take.rate_num);
  const out = [];
  for (const [name, track] of Object.entries(take.tracks)) {
    if (track.move) out.push(keys(THREE.VectorKeyframeTrack, `${name}.position`, times, track.move, 3));
    if (track.turn) out.push(keys(THREE.QuaternionKeyframeTrack, `${name}.quaternion`, times, track.turn, 4));
    if (track.scale) out.push(keys(THREE.VectorKeyframeTrack, `${name}.scale`, times, track.scale, 3));
  }
  for (const object of drawables) {
    if (!object.userData.shapes) continue;
    const { names } = object.userData.shapes;
    const weights = take.morphs[object.userData.who];
    const values = new Float32Array(take.n * names.length);
    for (let i = 0; i < take.n; i++) names.forEach((name, k) => { values[i * names.length + k] = weights[name][i]; });
    out.push(new THREE.NumberKeyframeTrack(`${object.name}.morphTargetInfluences`, times, values));
  }
  return out;
}

// Every node where the rig has it, so that the file's own pose is the rest pose; the roots keep their places.
function atRest({ scene, nodes, take }) {
  for (const { name, parent, rest } of scene.rig) {
    nodes[name].position.fromArray(rest);
    nodes[name].quaternion.identity();
    nodes[name].scale.set(1, 1, 1);
    const track = take.tracks[name];
    if (!parent && track?.move) nodes[name].position.fromArray(track.move, 0);
  }
}

export async function exportScene(state) {
  const { root, drawables } = state;
  withoutLights(root);
  for (const object of drawables) {
    object.visible = true;
    object.material = flat(object);
    if (object.userData.shapes) withMorphTargets(object);
    const index = object.geometry.getIndex().array;
    object.geometry.setIndex(new THREE.BufferAttribute(Uint16Array.from(index), 1));
    object.geometry.deleteAttribute("uv");
    object.geometry.deleteAttribute("normal");
  }
  const tracks = tracksOf(state.take, drawables);
  for (const object of drawables) object.userData = {};
  atRest(state);
  const clip = new THREE.AnimationClip("Lantern 040", -1, tracks);
  const data = await new GLTFExporter().parseAsync(root, { binary: true, animations: [clip], onlyVisible: false, includeCustomExtensions: false });
  let text = "";
  const bytes = new Uint8Array(data);
  for (let i = 0; i < bytes.length; i += 32768) text += String.fromCharCode(...bytes.subarray(i, i + 32768));
  return btoa(text);
}
