// Draws the far layer softly out of focus, then the near things over it, so that a close-up has depth. No state between frames.
import * as THREE from "three";

const BLUR = /* glsl */ `
  varying vec2 vuv;
  uniform sampler2D picture;
  uniform vec2 step;
  void main() {
    vec4 sum = vec4(0.0);
    float total = 0.0;
    for (int i = -4; i <= 4; i++) {
      float w = exp(-float(i * i) / 7.0);
      sum += w * texture2D(picture, vuv + step * float(i) / 4.0);
      total += w;
    }
    gl_FragColor = sum / total;
  }`;
const COPY = /* glsl */ `
  varying vec2 vuv;
  uniform sampler2D picture;
  void main() {
    gl_FragColor = texture2D(picture, vuv);
    #include <tonemapping_fragment>
    #include <colorspace_fragment>
  }`;
const VERTEX = "varying vec2 vuv; void main() { vuv = uv; gl_Position = vec4(position.xy, 0.9999, 1.0); }";

function blurPass(fragment) {
  const material = new THREE.ShaderMaterial({
    vertexShader: VERTEX, fragmentShader: fragment, depthTest: false, depthWrite: false,
    uniforms: { picture: { value: null }, step: { value: new THREE.Vector2() } },
  });
  const scene = new THREE.Scene();
  const quad = new THREE.Mesh(new THREE.PlaneGeometry(2, 2), material);
  quad.frustumCulled = false;
  scene.add(quad);
  return { scene, uniforms: material.uniforms };
}

export function makeLens(renderer, width, height, farLayer) {
  const options = { type: THREE.HalfFloatType, colorSpace: THREE.LinearSRGBColorSpace };
  const far = new THREE.WebGLRenderTarget(width / 2, height / 2, { ...options, samples: 4 });
  const wide = new THREE.WebGLRenderTarget(width / 2, height / 2, options);
  const across = blurPass(BLUR);
  const down = blurPass(BLUR);
  const show = blurPass(COPY);
  const flat = new THREE.OrthographicCamera(-1, 1, 1, -1, 0, 1);
  const pass = ({ scene, uniforms }, from, to, x, y) => {
    uniforms.picture.value = from.texture;
    uniforms.step.value.set(x / width, y / height);
    renderer.setRenderTarget(to);
    renderer.render(scene, flat);
  };
  return (root, camera, blurPx) => {
    renderer.autoClear = false;
    camera.layers.set(farLayer);
    renderer.setRenderTarget(far);
    renderer.clear();
    renderer.render(root, camera);
    pass(across, far, wide, blurPx, 0);
    pass(down, wide, far, 0, blurPx);
    renderer.setRenderTarget(null);
    renderer.clear();
    pass(show, far, null, 0, 0);
    camera.layers.set(0);
    renderer.render(root, camera);
  };
}
