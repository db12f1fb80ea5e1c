// Turns the scene file (nodes, meshes as offsets into one binary) into three's objects. Python owns every number.
import * as THREE from "three";

const FAR_LAYER = 1;
const NO_SHADOW = /eye|lid|teeth|tongue|brow|ear_|beard|buttons|boot|tufts/;
const FAR = new Set(["tower", "lamp_room", "roof", "rail", "windows", "rocks", "isles", "boat", "sail", "Boat_light_mesh"]);

function floats(bin, slot) {
  return new Float32Array(bin, slot.at, slot.count);
}

function geometryOf(bin, mesh) {
  const geometry = new THREE.BufferGeometry();
  geometry.setAttribute("position", new THREE.BufferAttribute(floats(bin, mesh.positions), 3));
  geometry.setAttribute("normal", new THREE.BufferAttribute(floats(bin, mesh.normals), 3));
  if (mesh.uv) geometry.setAttribute("uv", new THREE.BufferAttribute(floats(bin, mesh.uv), 2));
  if (mesh.colors) geometry.setAttribute("color", new THREE.BufferAttribute(floats(bin, mesh.colors), 3));
  geometry.setIndex(new THREE.BufferAttribute(new Uint32Array(bin, mesh.index.at, mesh.index.count), 1));
  return geometry;
}

// Shapes are added up here, once a frame: a software renderer would do it once a vertex, a light and a pass.
function shapesOf(bin, mesh) {
  const slots = (kind) => mesh.morphs.map((m) => floats(bin, m[kind]));
  return {
    names: mesh.morphs.map((m) => m.name),
    position: { base: floats(bin, mesh.positions).slice(), offsets: slots("positions") },
    normal: { base: floats(bin, mesh.normals).slice(), offsets: slots("normals") },
  };
}

function bend(object, weights, i) {
  const { names, ...kinds } = object.userData.shapes;
  for (const [kind, { base, offsets }] of Object.entries(kinds)) {
    const attribute = object.geometry.getAttribute(kind);
    const out = attribute.array;
    out.set(base);
    names.forEach((name, k) => {
      const weight = weights[name][i];
      if (weight !== 0) for (let j = 0; j < out.length; j++) out[j] += weight * offsets[k][j];
    });
    attribute.needsUpdate = true;
  }
}

// For the exported scene: the shapes as the file format's own morph targets, the mesh at rest.
export function withMorphTargets(object) {
  const { names, position } = object.userData.shapes;
  object.geometry.getAttribute("position").array.set(position.base);
  object.geometry.morphTargetsRelative = true;
  object.geometry.morphAttributes.position = position.offsets.map((offset, k) => {
    const attribute = new THREE.BufferAttribute(offset, 3);
    attribute.name = names[k];
    return attribute;
  });
  object.updateMorphTargets();
}

export function buildNodes(rig, cameras) {
  const root = new THREE.Scene();
  const nodes = {};
  for (const node of rig) {
    const lens = cameras.find((c) => c.node === node.name);
    const object = lens ? new THREE.PerspectiveCamera(lens.fov_y, 16 / 9, 0.03, 400) : new THREE.Group();
    object.name = node.name;
    object.position.fromArray(node.rest);
    (node.parent ? nodes[node.parent] : root).add(object);
    nodes[node.name] = object;
  }
  return { root, nodes };
}

export function hangMeshes(nodes, meshes, bin, materialFor) {
  const drawables = [];
  for (const mesh of meshes) {
    const material = materialFor(mesh.material, Boolean(mesh.colors));
    const object = new THREE.Mesh(geometryOf(bin, mesh), material);
    object.name = mesh.name;
    object.castShadow = mesh.node !== "Place" && !NO_SHADOW.test(mesh.name) && !material.transparent && mesh.material !== "flame";
    object.receiveShadow = true;
    object.frustumCulled = false;
    object.userData.who = mesh.node.split("_")[0];
    object.userData.tint = mesh.tint;
    if (FAR.has(mesh.name)) object.layers.set(FAR_LAYER);
    if (mesh.morphs.length) object.userData.shapes = shapesOf(bin, mesh);
    nodes[mesh.node].add(object);
    drawables.push(object);
  }
  return drawables;
}

// Sets every node of frame i. Tracks are flat arrays, n frames long.
export function pose(nodes, drawables, take, i) {
  for (const [name, track] of Object.entries(take.tracks)) {
    const node = nodes[name];
    if (track.move) node.position.fromArray(track.move, i * 3);
    if (track.turn) node.quaternion.fromArray(track.turn, i * 4);
    if (track.scale) node.scale.fromArray(track.scale, i * 3);
  }
  for (const object of drawables) {
    if (object.userData.shapes) bend(object, take.morphs[object.userData.who], i);
    object.visible = !take.hidden.some((h) => h.who === object.userData.who && h.first <= i && i <= h.last);
  }
}
