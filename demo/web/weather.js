// Sky and sea: dusk, drifting cloud, a low glow, and water that carries both. 'time' is in seconds of the shot.
import * as THREE from "three";

const GLOW = new THREE.Vector3(0.55, 0.05, -1).normalize();

const SKY_COLOUR = /* glsl */ `
  uniform float time;
  uniform vec3 glow;
  float hash(vec2 p) { p = fract(p * vec2(123.34, 345.45)); p += dot(p, p + 34.345); return fract(p.x * p.y); }
  float noise(vec2 p) {
    vec2 i = floor(p), f = fract(p);
    f = f * f * (3.0 - 2.0 * f);
    return mix(mix(hash(i), hash(i + vec2(1, 0)), f.x), mix(hash(i + vec2(0, 1)), hash(i + vec2(1, 1)), f.x), f.y);
  }
  float cloud(vec2 p) { float v = 0.0, a = 0.5; for (int i = 0; i < 4; i++) { v += a * noise(p); p = p * 2.03 + 7.1; a *= 0.5; } return v; }
  vec3 plainSky(vec3 d) {
    float h = max(d.y, 0.0);
    float near = pow(max(dot(normalize(vec3(d.x, 0.0, d.z)), normalize(vec3(glow.x, 0.0, glow.z))), 0.0), 3.0);
    vec3 low = mix(vec3(0.50, 0.30, 0.42), vec3(1.05, 0.52, 0.26), near);
    vec3 mid = mix(vec3(0.20, 0.19, 0.42), vec3(0.56, 0.33, 0.46), near * 0.8);
    vec3 top = vec3(0.035, 0.055, 0.18);
    vec3 c = mix(low, mid, smoothstep(0.0, 0.20, h));
    c = mix(c, top, smoothstep(0.14, 0.62, h));
    return c + vec3(1.0, 0.55, 0.25) * 0.9 * pow(max(dot(d, glow), 0.0), 60.0);
  }
  vec3 skyColour(vec3 d) {
    vec3 c = plainSky(d);
    float h = max(d.y, 0.0);
    float near = pow(max(dot(normalize(vec3(d.x, 0.0, d.z)), normalize(vec3(glow.x, 0.0, glow.z))), 0.0), 3.0);
    vec2 p = d.xz / (h + 0.16);
    float k = smoothstep(0.47, 0.80, cloud(p * vec2(0.9, 1.5) + vec2(time * 0.035, 0.0)));
    vec3 lit = mix(vec3(0.42, 0.27, 0.46), vec3(1.15, 0.58, 0.42), near * 0.9 + 0.1 * (1.0 - h));
    c = mix(c, lit, k * 0.72 * smoothstep(0.015, 0.10, h) * (1.0 - smoothstep(0.45, 0.8, h)));
    return c;
  }`;

const VERTEX = /* glsl */ `
  varying vec3 at;
  void main() { vec4 w = modelMatrix * vec4(position, 1.0); at = w.xyz; gl_Position = projectionMatrix * viewMatrix * w; }`;

const OUTPUT = /* glsl */ `
    #include <tonemapping_fragment>
    #include <colorspace_fragment>`;

const SKY = /* glsl */ `
  varying vec3 at;
  ${SKY_COLOUR}
  void main() {
    vec3 d = normalize(at - cameraPosition);
    vec3 c = skyColour(d);
    vec2 cell = vec2(atan(d.x, -d.z), d.y) * 90.0;
    float star = step(0.975, hash(floor(cell))) * smoothstep(0.30, 0.0, length(fract(cell) - 0.5));
    c += star * smoothstep(0.22, 0.5, d.y) * (0.55 + 0.25 * sin(time * 2.1 + hash(floor(cell)) * 40.0));
    gl_FragColor = vec4(c, 1.0);
    ${OUTPUT}
  }`;

const SEA = /* glsl */ `
  varying vec3 at;
  ${SKY_COLOUR}
  vec2 slope(vec2 p) {
    vec2 s = vec2(0.0);
    float a = 0.075, f = 0.9;
    vec2 dir = vec2(0.8, 0.6);
    for (int i = 0; i < 6; i++) {
      float ph = dot(p, dir) * f + time * sqrt(f) * 1.9 + float(i) * 1.7;
      s += dir * cos(ph) * a;
      dir = mat2(0.55, -0.835, 0.835, 0.55) * dir;
      f *= 1.72; a *= 0.86;
    }
    return s;
  }
  void main() {
    vec3 v = at - cameraPosition;
    float far = length(v);
    vec2 s = slope(at.xz) * clamp(14.0 / far, 0.12, 1.0);
    vec3 n = normalize(vec3(-s.x, 1.0, -s.y));
    vec3 d = v / far;
    float edge = 0.03 + 0.97 * pow(1.0 - max(dot(-d, n), 0.0), 5.0);
    vec3 r = reflect(d, n);
    r.y = abs(r.y) + 0.01;
    vec3 deep = vec3(0.018, 0.045, 0.095);
    vec3 c = mix(deep, plainSky(normalize(r)) * 0.92, edge);
    c += vec3(1.0, 0.55, 0.25) * 0.55 * pow(max(dot(normalize(r), glow), 0.0), 220.0);
    c = mix(c, plainSky(normalize(vec3(d.x, 0.012, d.z))), smoothstep(40.0, 190.0, far) * 0.85);
    gl_FragColor = vec4(c, 1.0);
    ${OUTPUT}
  }`;

function shader(fragment, more) {
  return new THREE.ShaderMaterial({ vertexShader: VERTEX, fragmentShader: fragment, uniforms: { time: { value: 0 }, glow: { value: GLOW } }, ...more });
}

export function addWeather(root, layer) {
  const sky = new THREE.Mesh(new THREE.SphereGeometry(300, 32, 24), shader(SKY, { side: THREE.BackSide, depthWrite: false }));
  const sea = new THREE.Mesh(new THREE.PlaneGeometry(600, 600), shader(SEA, {}));
  sea.rotation.x = -Math.PI / 2;
  sea.position.y = -0.62;
  for (const thing of [sky, sea]) {
    thing.layers.set(layer);
    thing.frustumCulled = false;
    thing.userData.weather = true;
    root.add(thing);
  }
  return (time) => { for (const thing of [sky, sea]) thing.material.uniforms.time.value = time; };
}
