// The page that Python drives: window.demo.load(), .frame(i) -> JPEG, .glb() -> the animated scene.
import * as THREE from "three";
import { buildNodes, hangMeshes, pose } from "./build.js";
import { exportScene } from "./export.js";
import { makeLens } from "./lens.js";
import { addLights } from "./lights.js";
import { loadTextures, materialMaker } from "./materials.js";
import { addWeather } from "./weather.js";

const FAR_LAYER = 1;
const state = {};

async function load(takeName, width, height, sceneName) {
  const [scene, take, bin] = await Promise.all([
    fetch(`/build/${sceneName}.json`).then((r) => r.json()),
    fetch(`/build/${takeName}.json`).then((r) => r.json()),
    fetch(`/build/${sceneName}.bin`).then((r) => r.arrayBuffer()),
  ]);
  const renderer = new THREE.WebGLRenderer({ antialias: true, preserveDrawingBuffer: true });
  renderer.setSize(width, height, false);
  renderer.toneMapping = THREE.ACESFilmicToneMapping;
  renderer.toneMappingExposure = scene.exposure;
  renderer.shadowMap.enabled = true;
  renderer.shadowMap.type = THREE.PCFSoftShadowMap;
  document.body.append(renderer.domElement);
  const { root, nodes } = buildNodes(scene.rig, scene.cameras);
  const materialFor = materialMaker(await loadTextures(scene.textures));
  const drawables = hangMeshes(nodes, scene.meshes, bin, materialFor);
  const weather = addWeather(root, FAR_LAYER);
  const lantern = addLights(root, nodes);
  const lens = makeLens(renderer, width, height, FAR_LAYER);
  Object.assign(state, { scene, take, bin, renderer, root, nodes, drawables, weather, lantern, lens, materialFor });
  return take.n;
}

function draw(i) {
  const { take, nodes } = state;
  pose(state.nodes, state.drawables, take, i);
  state.weather(take.time[i]);
  const glow = state.materialFor("flame", false);
  glow.color.setRGB(1, 0.62, 0.22).multiplyScalar(0.9 + 1.1 * take.flame[i]);
  state.materialFor("glass", false).emissiveIntensity = 0.55 * take.flame[i];
  state.materialFor("boat_light", false).color.setRGB(1, 0.75, 0.35).multiplyScalar(0.05 + 6 * take.boat_light[i]);
  const shot = take.shots.find((s) => s.first <= i && i <= s.last);
  const camera = nodes[shot.camera];
  state.lantern(take.flame[i], shot.light);
  state.root.updateMatrixWorld(true);
  state.lens(state.root, camera, shot.blur_px);
}

async function frame(i) {
  draw(i);
  return state.renderer.domElement.toDataURL("image/jpeg", 0.985).slice("data:image/jpeg;base64,".length);
}

window.demo = { load, frame, glb: () => exportScene(state), three: THREE.REVISION };
window.demoReady = true;
