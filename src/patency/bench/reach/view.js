// Draws the load with three.js: bodies by the class of their patches, arms, a frame around the piece that is chosen.
// Ground and pattern of each class as in the pictures of the load sheets (patency.papers.reach.raster).
const GROUND = [0xe2f3fc, 0xb4dcf0, 0x86c1de, 0xb7dcb8, 0xe39a34, 0x611212, 0xffffff, 0xc6c6c6];
const INK = [0xe2f3fc, 0x1f5f86, 0x2b6c94, 0x1d5a2d, 0x472700, 0xffffff, 0x555555, 0xc6c6c6];
const VERTEX = `
  attribute float look;
  varying float v_look;
  varying vec3 v_at;
  void main() {
    v_look = look;
    vec4 at = modelViewMatrix * vec4(position, 1.0);
    v_at = at.xyz;
    gl_Position = projectionMatrix * at;
  }`;
const FRAGMENT = `
  uniform vec3 ground[8];
  uniform vec3 ink[8];
  uniform float chosen;
  uniform float ratio;
  varying float v_look;
  varying vec3 v_at;
  bool inked(int look, ivec2 at) {
    if (look == 1) return at.y % 8 < 2 && (at.x + 4 * ((at.y / 8) % 2)) % 8 < 2;
    if (look == 2) return at.y % 4 < 2 && (at.x + 2 * ((at.y / 4) % 2)) % 4 < 2;
    if (look == 3) return at.y % 4 == 0;
    if (look == 4) return (at.x + at.y) % 8 < 3;
    if (look == 5) return (at.x + at.y) % 8 == 0 || (at.x - at.y + 80000) % 8 == 0;
    if (look == 6) return (at.x / 4 + at.y / 4) % 2 == 0;
    return false;
  }
  void main() {
    int look = int(v_look + 0.5);
    vec3 normal = normalize(cross(dFdx(v_at), dFdy(v_at)));
    float light = 0.72 + 0.28 * abs(normal.z);
    ivec2 at = ivec2(gl_FragCoord.xy / ratio);
    vec3 colour = inked(look, at) ? ink[look] : ground[look];
    if (chosen > 0.5 && (at.x + at.y) % 24 < 4) colour = vec3(1.0, 0.82, 0.25);
    gl_FragColor = vec4(colour * light, 1.0);
  }`;
// Points drawn for each pixel of the page, along each side: one while it turns, so that a computer without a graphics
// card keeps up, and four in all, which smooths edges at less cost than antialiasing, when it has rested so long.
const [TURNING, RESTING, RESTED_MS] = [1, 2, 800];
const JET_M = 0.04;  // how long a jet is drawn, which flies on
const FRONT = { turned: 0, raised: 30 };
export const SIDES = {
  front: FRONT, right: { turned: 90, raised: 30 }, back: { turned: 180, raised: 30 }, left: { turned: 270, raised: 30 },
  above: { turned: 0, raised: 89.9 }, below: { turned: 0, raised: -89.9 },
};

const numbers = (text, Kind) => {
  const bytes = Uint8Array.from(atob(text), (one) => one.charCodeAt(0));
  return new Kind(bytes.buffer);
};
export class View {
  constructor(three, scene, place) {
    this.three = three;
    this.place = place;
    this.renderer = new three.WebGLRenderer({ antialias: false, preserveDrawingBuffer: true });
    this.renderer.setClearColor(0xffffff, 1);
    this.place.append(this.renderer.domElement);
    this.scene = new three.Scene();
    this.camera = new three.PerspectiveCamera(30, 1, 0.05, 20);
    this.camera.up.set(0, 0, 1);
    this.ratio = { value: RESTING };
    this.plain = this.material(0);
    this.marked = this.material(1);
    this.meshes = scene.meshes.map((one) => this.mesh(one));
    this.bodies = scene.bodies.map((one) => this.body(one));
    this.lines(scene);
    const bounds = new three.Box3();
    this.bodies.forEach((one) => bounds.expandByObject(one));
    this.middle = bounds.getCenter(new three.Vector3());
    this.home = this.middle.clone();
    this.size = bounds.getSize(new three.Vector3()).length();
    this.from(FRONT);
    new ResizeObserver(() => this.fit()).observe(this.place);
    this.fit();
  }

  material(chosen) {
    const colours = (list) => ({ value: list.map((one) => {
      return new this.three.Vector3((one >> 16) / 255, ((one >> 8) & 255) / 255, (one & 255) / 255);
    }) });
    return new this.three.ShaderMaterial({
      vertexShader: VERTEX, fragmentShader: FRAGMENT, side: this.three.FrontSide,
      uniforms: { ground: colours(GROUND), ink: colours(INK), chosen: { value: chosen }, ratio: this.ratio },
    });
  }

  // Each face gets corners of its own, so that its class does not run over into its neighbours.
  mesh(one) {
    const at = numbers(one.vertices, Float32Array);
    const faces = numbers(one.faces, Uint32Array);
    const corners = new Float32Array(3 * faces.length);
    faces.forEach((corner, n) => corners.set(at.subarray(3 * corner, 3 * corner + 3), 3 * n));
    return { corners: new this.three.BufferAttribute(corners, 3), patchOf: numbers(one.patch_of, Uint32Array) };
  }

  body(one) {
    const geometry = new this.three.BufferGeometry();
    geometry.setAttribute("position", this.meshes[one.mesh].corners);
    const mesh = new this.three.Mesh(geometry, this.plain);
    mesh.matrixAutoUpdate = false;
    mesh.userData = { mesh: one.mesh, role: one.role };
    this.scene.add(mesh);
    this.show(mesh, one);
    return mesh;
  }

  show(mesh, one) {
    const { patchOf } = this.meshes[mesh.userData.mesh];
    const looks = numbers(one.looks, Uint8Array);
    const each = new Uint8Array(3 * patchOf.length);
    patchOf.forEach((patch, n) => each.fill(looks[patch], 3 * n, 3 * n + 3));
    mesh.geometry.setAttribute("look", new this.three.BufferAttribute(each, 1));
    const t = one.turn, s = one.shift;
    mesh.matrix.set(t[0], t[1], t[2], s[0], t[3], t[4], t[5], s[1], t[6], t[7], t[8], s[2], 0, 0, 0, 1);
    mesh.matrixWorldNeedsUpdate = true;
    mesh.userData.placed = mesh.matrix.clone();
  }

  // Draws a piece so many points of the picture from where it stands, while it is dragged.
  carry(number, pixels, pixelsUp) {
    const mesh = this.bodies[number];
    const way = new this.three.Vector3(...this.across(pixels, pixelsUp));
    mesh.matrix.makeTranslation(way).multiply(mesh.userData.placed);
    mesh.matrixWorldNeedsUpdate = true;
    this.draw(TURNING);
  }

  lines(scene) {
    const points = [];
    const stretch = (ring) => ring.forEach((at, n) => { if (n) points.push(ring[n - 1], at); });
    const vector = (at) => new this.three.Vector3(...at);
    for (const [corner, along, across] of scene.screens) {
      const [c, a, b] = [vector(corner), vector(along), vector(across)];
      stretch([c, c.clone().add(a), c.clone().add(a).add(b), c.clone().add(b), c]);
    }
    this.scene.add(this.drawn(points.splice(0), 0x777777));
    for (const arm of scene.arms) {
      for (const height of [-arm.thickness / 2, arm.thickness / 2]) {
        stretch(Array.from({ length: 73 }, (_, n) => {
          const angle = (2 * Math.PI * n) / 72;
          return vector(arm.centre).add(vector([arm.radius * Math.cos(angle), arm.radius * Math.sin(angle), height]));
        }));
      }
      const on = (x, y, z) => vector(arm.centre).add(vector([x, y, z]));
      stretch([on(-arm.radius, 0, 0), on(arm.radius, 0, 0)]);
      for (const [x, ...way] of arm.jets) stretch([on(x, 0, 0), on(x, 0, 0).addScaledVector(vector(way), JET_M)]);
    }
    this.scene.add(this.drawn(points, 0x111111));
  }

  drawn(points, colour) {
    const geometry = new this.three.BufferGeometry().setFromPoints(points);
    return new this.three.LineSegments(geometry, new this.three.LineBasicMaterial({ color: colour }));
  }

  from({ turned, raised }) {
    [this.turned, this.raised, this.distance] = [turned, raised, 1.7 * this.size];
    this.middle.copy(this.home);
    this.draw();
  }

  turn(turned, raised) {
    this.turned = (this.turned + turned + 360) % 360;
    this.raised = Math.max(-89.9, Math.min(89.9, this.raised + raised));
    this.draw(TURNING);
  }

  nearer(times) {
    this.distance = Math.max(0.1, Math.min(4 * this.size, this.distance * times));
    this.draw(TURNING);
  }

  // How far apart in space two points of the picture are, in the plane through the middle that faces the eye.
  across(pixels, pixelsUp) {
    const metre = (2 * this.distance * Math.tan(Math.PI / 12)) / this.place.clientHeight;
    const e = this.camera.matrixWorld.elements;
    return [0, 1, 2].map((axis) => metre * (pixels * e[axis] + pixelsUp * e[4 + axis]));
  }

  shift(pixels, pixelsUp) {
    const way = this.across(-pixels, -pixelsUp);
    this.middle.add(new this.three.Vector3(...way));
    this.draw(TURNING);
  }

  fit() {
    this.renderer.setSize(this.place.clientWidth, this.place.clientHeight, false);
    this.camera.aspect = this.place.clientWidth / Math.max(this.place.clientHeight, 1);
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  draw(ratio = RESTING) {
    clearTimeout(this.resting);
    if (ratio === TURNING) this.resting = setTimeout(() => this.draw(), RESTED_MS);
    this.ratio.value = ratio;
    if (this.planned) return;
    this.planned = requestAnimationFrame(() => {
      this.planned = 0;
      const [turned, raised] = [this.turned, this.raised].map((one) => (one * Math.PI) / 180);
      const away = new this.three.Vector3(
        Math.sin(turned) * Math.cos(raised), -Math.cos(turned) * Math.cos(raised), Math.sin(raised));
      this.camera.position.copy(this.middle).addScaledVector(away, this.distance);
      this.camera.lookAt(this.middle);
      this.camera.updateMatrixWorld();
      this.frame?.update();
      if (this.renderer.getPixelRatio() !== this.ratio.value) this.renderer.setPixelRatio(this.ratio.value);
      this.renderer.render(this.scene, this.camera);
      this.place.dataset.from = `${this.turned.toFixed(0)} ${this.raised.toFixed(0)} ${this.distance.toFixed(2)}`;
      this.place.dataset.drawn = String(Number(this.place.dataset.drawn || 0) + 1);
    });
  }

  at(event) {
    const rect = this.place.getBoundingClientRect();
    const place = new this.three.Vector2(
      (2 * (event.clientX - rect.left)) / rect.width - 1, 1 - (2 * (event.clientY - rect.top)) / rect.height);
    const ray = new this.three.Raycaster();
    ray.setFromCamera(place, this.camera);
    const met = ray.intersectObjects(this.bodies, false)[0];
    return met && met.object.userData.role === "piece" ? this.bodies.indexOf(met.object) : -1;
  }

  // The frame is seen through everything else, so that a small piece is found.
  mark(number) {
    this.bodies.forEach((one, n) => { one.material = n === number ? this.marked : this.plain; });
    if (this.frame) {
      this.scene.remove(this.frame);
      this.frame.dispose();
      this.frame = null;
    }
    if (number >= 0) {
      this.frame = new this.three.BoxHelper(this.bodies[number], 0x7a0d4f);
      this.frame.material.depthTest = false;
      this.frame.renderOrder = 1;
      this.scene.add(this.frame);
    }
    this.draw();
  }

  near(number) {
    const bounds = new this.three.Box3().setFromObject(this.bodies[number]);
    bounds.getCenter(this.middle);
    this.distance = Math.max(0.12, 2.2 * bounds.getSize(new this.three.Vector3()).length());
    this.draw();
  }
}
