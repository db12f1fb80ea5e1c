// The scene as GLB by three's own exporter: nodes, cameras, the light version of every mesh, and tracks sampled once a frame.
import * as THREE from "three";
import { withMorphTargets } from "./build.js";
import { GLTFExporter } from "three/addons/exporters/GLTFExporter.js";

function flat(material) {
  const color = material.color ? material.color.clone() : new THREE.Color(0xffffff);
  const out = new THREE.MeshStandardMaterial({ color, roughness: 0.7, vertexColors: Boolean(material.vertexColors) });
  out.name = material.name;
  return out;
}

function lighten(object, keep) {
  for (const child of [...object.children]) {
    if (child.isMesh && !keep.has(child.name)) object.remove(child);
    else if (child.isLight || child.userData.weather) object.remove(child);
    else lighten(child, keep);
  }
}

function moves(values, width) {
  for (let i = width; i < values.length; i++) if (Math.abs(values[i] - values[i % width]) > 1e-7) return true;
  return false;
}

function tracksOf(take, drawables) {
  const times = Float32Array.from({ length: take.n }, (_, i) => (i * take.rate_den) / take.rate_num);
  const out = [];
  for (const [name, track] of Object.entries(take.tracks)) {
    if (track.move && moves(track.move, 3)) out.push(new THREE.VectorKeyframeTrack(`${name}.position`, times, track.move));
    if (track.turn && moves(track.turn, 4)) out.push(new THREE.QuaternionKeyframeTrack(`${name}.quaternion`, times, track.turn));
    if (track.scale && moves(track.scale, 3)) out.push(new THREE.VectorKeyframeTrack(`${name}.scale`, times, track.scale));
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
  const kept = new Set(state.scene.meshes.filter((m) => m.exported).map((m) => m.name));
  const root = state.root;
  lighten(root, kept);
  const drawables = state.drawables.filter((d) => kept.has(d.name));
  for (const object of drawables) {
    object.visible = true;
    object.material = flat(object.material);
    if (object.userData.shapes) withMorphTargets(object);
    object.geometry.deleteAttribute("uv");
    object.geometry.deleteAttribute("normal");
  }
  atRest(state);
  const clip = new THREE.AnimationClip("Lantern 040", -1, tracksOf(state.take, drawables));
  const data = await new GLTFExporter().parseAsync(root, { binary: true, animations: [clip], onlyVisible: false, includeCustomExtensions: false });
  let text = "";
  const bytes = new Uint8Array(data);
  for (let i = 0; i < bytes.length; i += 32768) text += String.fromCharCode(...bytes.subarray(i, i + 32768));
  return btoa(text);
}
