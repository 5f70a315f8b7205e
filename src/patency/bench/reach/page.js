// The load as a view that turns. The server computes; here it is only drawn, and pieces are chosen and dragged.
// Without WebGL the page of pictures from four sides is shown instead.
(() => {
  "use strict";
  const box = document.getElementById("reach");
  if (!box) return;
  const view = document.getElementById("view");
  const state = document.getElementById("state");
  const told = document.getElementById("told");
  const chooser = document.getElementById("piece");
  const dragging = document.getElementById("drag");
  const nudges = document.getElementById("nudges");
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
  const FRONT = { turned: 0, raised: 30 };
  const SIDES = {
    front: FRONT, right: { turned: 90, raised: 30 }, back: { turned: 180, raised: 30 }, left: { turned: 270, raised: 30 },
    above: { turned: 0, raised: 89.9 }, below: { turned: 0, raised: -89.9 },
  };

  const toPictures = () => location.replace(box.dataset.pictures);
  const hasWebGL = () => {
    try { return Boolean(document.createElement("canvas").getContext("webgl2")); } catch { return false; }
  };
  if (!hasWebGL()) { toPictures(); return; }

  const numbers = (text, Kind) => {
    const bytes = Uint8Array.from(atob(text), (one) => one.charCodeAt(0));
    return new Kind(bytes.buffer);
  };
  const asked = async (path) => {
    const answer = await fetch(path, { headers: { accept: "application/json" } });
    if (!answer.ok) throw new Error(String(answer.status));
    return answer.json();
  };

  class View {
    constructor(three, scene) {
      this.three = three;
      this.renderer = new three.WebGLRenderer({ antialias: false, preserveDrawingBuffer: true });
      this.renderer.setClearColor(0xffffff, 1);
      view.append(this.renderer.domElement);
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
      new ResizeObserver(() => this.fit()).observe(view);
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
        stretch([vector(arm.centre).add(vector([-arm.radius, 0, 0])), vector(arm.centre).add(vector([arm.radius, 0, 0]))]);
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
      const metre = (2 * this.distance * Math.tan(Math.PI / 12)) / view.clientHeight;
      const e = this.camera.matrixWorld.elements;
      return [0, 1, 2].map((axis) => metre * (pixels * e[axis] + pixelsUp * e[4 + axis]));
    }

    shift(pixels, pixelsUp) {
      const way = this.across(-pixels, -pixelsUp);
      this.middle.add(new this.three.Vector3(...way));
      this.draw(TURNING);
    }

    fit() {
      this.renderer.setSize(view.clientWidth, view.clientHeight, false);
      this.camera.aspect = view.clientWidth / Math.max(view.clientHeight, 1);
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
        if (this.renderer.getPixelRatio() !== this.ratio.value) this.renderer.setPixelRatio(this.ratio.value);
        this.renderer.render(this.scene, this.camera);
        view.dataset.from = `${this.turned.toFixed(0)} ${this.raised.toFixed(0)} ${this.distance.toFixed(2)}`;
        view.dataset.drawn = String(Number(view.dataset.drawn || 0) + 1);
      });
    }

    at(event) {
      const rect = view.getBoundingClientRect();
      const place = new this.three.Vector2(
        (2 * (event.clientX - rect.left)) / rect.width - 1, 1 - (2 * (event.clientY - rect.top)) / rect.height);
      const ray = new this.three.Raycaster();
      ray.setFromCamera(place, this.camera);
      const met = ray.intersectObjects(this.bodies, false)[0];
      return met && met.object.userData.role === "piece" ? this.bodies.indexOf(met.object) : -1;
    }

    mark(number) {
      this.bodies.forEach((one, n) => { one.material = n === number ? this.marked : this.plain; });
      this.draw();
    }
  }

  const start = (drawn, scene) => {
    let moves = scene.m;
    let busy = false;
    const chosen = () => (chooser.value === "" ? -1 : Number(chooser.value));
    const path = (what, more) => {
      const query = new URLSearchParams(moves.map((one) => ["m", one]));
      Object.entries(more).forEach(([name, value]) => query.set(name, value));
      return `${box.dataset.path}${what}?${query}`;
    };
    const tell = (answer) => {
      moves = answer.m;
      told.innerHTML = answer.told;  // our own template, escaped by the server
      document.getElementById("to-pictures").href = path("", { as: "pictures", ...(chosen() < 0 ? {} : { piece: chosen() }) });
      history.replaceState(null, "", path("", {}));
    };
    const ask = async (more) => {
      if (busy || chosen() < 0) return;
      busy = true;
      view.dataset.busy = "yes";
      try {
        const answer = await asked(path("/moved", { piece: chosen(), ...more }));
        Object.entries(answer.changed).forEach(([number, one]) => drawn.show(drawn.bodies[number], one));
        tell(answer);
      } catch {
        state.textContent = box.dataset.failed;
      } finally {
        busy = false;
        delete view.dataset.busy;
        drawn.draw(TURNING);
      }
    };
    const choose = (number) => {
      chooser.value = number < 0 ? "" : String(number);
      drawn.mark(number);
      nudges.disabled = dragging.disabled = number < 0;
      ask({});
    };

    Object.entries(scene.names).sort((one, other) => one[1].localeCompare(other[1])).forEach(([number, name]) => {
      chooser.add(new Option(name, number));
    });
    chooser.disabled = false;
    state.textContent = "";
    state.hidden = true;
    tell(scene);
    chooser.addEventListener("change", () => choose(chosen()));
    document.getElementById("moving").addEventListener("submit", (event) => {
      event.preventDefault();
      if (event.submitter?.value) ask({ nudge: event.submitter.value });
    });
    document.querySelectorAll("[data-side]").forEach((one) => {
      one.addEventListener("click", () => drawn.from(SIDES[one.dataset.side]));
    });
    dragging.addEventListener("click", () => {
      const moving = dragging.getAttribute("aria-pressed") !== "true";
      dragging.setAttribute("aria-pressed", String(moving));
      view.classList.toggle("moving", moving);
    });
    fingers(drawn, choose, (way) => ask({ shift: way.map((one) => (1000 * one).toFixed(1)).join(",") }));
    keys(drawn);
    view.dataset.ready = "yes";
  };

  // One finger or the mouse turns, or moves the chosen piece; two fingers shift the view and bring it nearer.
  const fingers = (drawn, choose, shifted) => {
    const down = new Map();
    let began = null;
    let far = 0;
    const moving = () => dragging.getAttribute("aria-pressed") === "true" && !nudges.disabled;
    view.addEventListener("pointerdown", (event) => {
      view.setPointerCapture(event.pointerId);
      down.set(event.pointerId, event);
      if (down.size === 1) [began, far] = [event, 0];
    });
    view.addEventListener("pointermove", (event) => {
      const before = down.get(event.pointerId);
      if (!before) return;
      const [right, below] = [event.clientX - before.clientX, event.clientY - before.clientY];
      far += Math.hypot(right, below);
      const other = [...down.values()].find((one) => one.pointerId !== event.pointerId);
      if (other) {
        const apart = (one) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
        drawn.shift(right / 2, -below / 2);
        drawn.nearer(apart(before) / Math.max(apart(event), 1));
      } else if (event.shiftKey || event.buttons === 4) {
        drawn.shift(right, -below);
      } else if (!moving()) {
        drawn.turn(-0.4 * right, 0.4 * below);
      }
      down.set(event.pointerId, event);
    });
    const up = (event) => {
      if (!down.delete(event.pointerId) || down.size || !began) return;
      if (far < 6 && event.type === "pointerup") {
        const number = drawn.at(event);
        if (number >= 0) choose(number);
      } else if (moving()) {
        shifted(drawn.across(event.clientX - began.clientX, began.clientY - event.clientY));
      }
      began = null;
    };
    view.addEventListener("pointerup", up);
    view.addEventListener("pointercancel", up);
    view.addEventListener("wheel", (event) => {
      event.preventDefault();
      drawn.nearer(event.deltaY > 0 ? 1.1 : 1 / 1.1);
    }, { passive: false });
  };

  // No letters or signs: those are a scanner's.
  const keys = (drawn) => {
    const acts = {
      ArrowLeft: () => drawn.turn(10, 0), ArrowRight: () => drawn.turn(-10, 0),
      ArrowUp: () => drawn.turn(0, 10), ArrowDown: () => drawn.turn(0, -10),
      PageUp: () => drawn.nearer(0.8), PageDown: () => drawn.nearer(1.25), Home: () => drawn.from(FRONT),
    };
    view.addEventListener("keydown", (event) => {
      const act = acts[event.key];
      if (!act || event.ctrlKey || event.altKey || event.metaKey) return;
      event.preventDefault();
      event.stopPropagation();
      act();
    });
  };

  const open = async () => {
    try {
      const [three, scene] = await Promise.all([
        import(box.dataset.three), asked(`${box.dataset.path}/scene${box.dataset.query}`)]);
      start(new View(three, scene), scene);
    } catch (fault) {
      state.textContent = box.dataset.failed;
      throw fault;
    }
  };
  open();
})();
