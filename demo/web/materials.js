// Surfaces by name. Colours are sRGB; textures come painted from Python.
import * as THREE from "three";

const DULL = 0.75;

const TABLE = {
  skin_Oona: { map: "skin_Oona", roughness: 0.52 },
  skin_Bram: { map: "skin_Bram", roughness: 0.58 },
  plain_skin_Oona: { color: 0xffffff, roughness: 0.55 },
  plain_skin_Bram: { color: 0xffffff, roughness: 0.6 },
  eye_Oona: { map: "eye_Oona", roughness: 0.18, clearcoat: 1, clearcoatRoughness: 0.06 },
  eye_Bram: { map: "eye_Bram", roughness: 0.18, clearcoat: 1, clearcoatRoughness: 0.06 },
  hair_Oona: { color: 0xffffff, roughness: 0.48 },
  hair_Bram: { color: 0xffffff, roughness: 0.62 },
  teeth: { color: 0xffffff, roughness: 0.25 },
  tongue: { color: 0xc25a5c, roughness: 0.4 },
  coat_Oona: { map: "cloth", color: 0xe8a92c, roughness: 0.5 },
  coat_Bram: { map: "knit", color: 0x39557c, roughness: 0.95, bump: 2.5 },
  wool_Bram: { map: "knit", color: 0xa8402f, roughness: 0.95, bump: 2.5 },
  scarf_Oona: { map: "scarf", color: 0x4f8a86, roughness: 0.95 },
  scarf_Bram: { map: "knit", color: 0xcfc3a6, roughness: 0.95 },
  trousers_Oona: { map: "cloth", color: 0x4b4f6e, roughness: 0.95 },
  trousers_Bram: { map: "cloth", color: 0x5f5348, roughness: 0.95 },
  boots_Oona: { color: 0x7c2f2c, roughness: 0.35 },
  boots_Bram: { color: 0x2d2f33, roughness: 0.4 },
  horn: { color: 0x4a3020, roughness: 0.4 },
  brass: { color: 0xc8923c, roughness: 0.32, metalness: 0.75 },
  iron: { color: 0x33363c, roughness: 0.55, metalness: 0.4 },
  wood: { map: "crate", color: 0xd9a36a, roughness: 0.6 },
  crate: { map: "crate", color: 0xffffff, roughness: 0.85 },
  planks: { map: "planks", color: 0xffffff, roughness: 0.8 },
  rope: { map: "knit", color: 0xb59a6c, roughness: 0.95 },
  rock: { map: "rock", color: 0xb8aebc, roughness: 0.95 },
  isle: { map: "rock", color: 0x8088b4, roughness: 1 },
  stone: { map: "stone", color: 0xffffff, roughness: 0.9 },
  roof: { color: 0x8a2f2a, roughness: 0.7 },
  dark_glass: { color: 0x1b2233, roughness: 0.15, metalness: 0.2 },
  hull: { color: 0x3a2c38, roughness: 0.9 },
  sail: { color: 0xd8b8a0, roughness: 0.9, side: THREE.DoubleSide },
};

export async function loadTextures(names) {
  const loader = new THREE.TextureLoader();
  const out = {};
  for (const name of names) {
    const texture = await loader.loadAsync(`/build/textures/${name}.png`);
    texture.wrapS = texture.wrapT = THREE.RepeatWrapping;
    texture.colorSpace = THREE.SRGBColorSpace;
    texture.userData.name = name;
    out[name] = texture;
  }
  return out;
}

function special(name) {
  if (name === "flame" || name === "boat_light") return new THREE.MeshBasicMaterial({ color: 0xffc768, toneMapped: true });
  if (name === "glass") {
    return new THREE.MeshPhysicalMaterial({ color: 0xffe2b0, transparent: true, opacity: 0.22, roughness: 0.05, emissive: 0xff9a38, emissiveIntensity: 0.5, depthWrite: false });
  }
  return null;
}

// Only wet eyes pay for the physical model, and dull things need none of it.
function surface({ roughness, ...options }) {
  if (roughness >= DULL) return new THREE.MeshLambertMaterial(options);
  const kind = options.clearcoat ? THREE.MeshPhysicalMaterial : THREE.MeshStandardMaterial;
  return new kind({ roughness, ...options });
}

// Answers a function (name, has vertex colours) -> material; the same name gives the same material.
export function materialMaker(textures) {
  const made = {};
  return (name, painted) => {
    const key = `${name}|${painted}`;
    if (made[key]) return made[key];
    const { map, bump, ...rest } = TABLE[name] ?? { color: 0xff00ff };
    const material = special(name) ?? surface({ vertexColors: painted, ...rest });
    if (map) material.map = textures[map];
    if (bump) { material.bumpMap = textures[map]; material.bumpScale = bump; }
    if (name.startsWith("skin") || name.startsWith("coat") || name === "teeth" || name === "hull") material.side = THREE.DoubleSide;
    material.name = name;
    made[key] = material;
    return material;
  };
}
