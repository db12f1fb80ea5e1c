// Dusk from the sky, a warm key, a rim from the low sun, and the lantern itself.
import * as THREE from "three";

function everywhere(light) {
  light.layers.enableAll();
  return light;
}

export function addLights(root, nodes) {
  root.add(everywhere(new THREE.HemisphereLight(0xa6a4e0, 0x7a5448, 1.1)));
  const key = everywhere(new THREE.DirectionalLight(0xffc89a, 1.75));
  key.target.position.set(0, 0.75, 0);
  key.castShadow = true;
  key.shadow.mapSize.set(1024, 1024);
  Object.assign(key.shadow.camera, { left: -1.6, right: 1.6, top: 1.3, bottom: -1.3, near: 0.3, far: 8 });
  key.shadow.bias = -0.0006;
  key.shadow.normalBias = 0.008;
  key.shadow.radius = 5;
  const rim = everywhere(new THREE.DirectionalLight(0xff8f6a, 2.1));
  rim.position.set(2.4, 1.6, -3.0);
  const flame = everywhere(new THREE.PointLight(0xff9c42, 1, 6, 1.7));
  nodes.Lantern_flame.add(flame);
  root.add(key, key.target, rim);
  return (strength, keyAt) => {
    flame.intensity = strength;
    key.position.fromArray(keyAt);
  };
}
