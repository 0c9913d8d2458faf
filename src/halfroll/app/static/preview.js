// Parts on their build plate, turned by dragging, arrow keys or buttons. Drawn in software into a canvas (no graphics card is asked
// for): a depth buffer, smooth shading, ink lines where faces meet in an edge or turn away from the eye.
// The server sends corners (16 bits, with their unit in millimetres) and triangles; a still picture from the server is what paper shows.
const LIGHT = norm([0.35, -0.55, 0.76]), CREASE = Math.cos(0.6), OVER = -Math.SQRT1_2 - 1e-3;
const HOME = { yaw: -35, pitch: 32, zoom: 1 };
const VIEWS = { home: HOME, above: { yaw: 0, pitch: 90, zoom: 1 }, side: { yaw: 0, pitch: 0, zoom: 1 }, below: { yaw: 0, pitch: -60, zoom: 1 } };
const RADIANS = Math.PI / 180;

function norm(v) { const l = Math.hypot(...v) || 1; return v.map((x) => x / l); }
const bytes = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer;

export default {
  template: `<div class="preview">
    <canvas ref="canvas" class="no-print" tabindex="0" role="img" :aria-label="label"
      @keydown="key" @pointerdown="take" @pointermove="drag" @pointerup="drop" @pointercancel="drop"></canvas>
    <div class="still" ref="still"></div>
    <div class="turns no-print" role="group" aria-label="Turn the picture">
      <button type="button" v-for="one in buttons" :key="one[0]" :aria-label="one[1]" :title="one[1]" @click="press(one[0])">{{ one[2] }}</button>
    </div>
  </div>`,
  props: { label: String },
  data: () => ({ buttons: [
    ["left", "Turn left", "⟲"], ["right", "Turn right", "⟳"], ["up", "Look from higher", "↑"], ["down", "Look from lower", "↓"],
    ["larger", "Larger", "+"], ["smaller", "Smaller", "−"],
    ["above", "From above", "above"], ["side", "From the side", "side"], ["below", "From below", "below"], ["home", "As at first", "as at first"],
  ] }),
  mounted() {
    this.view = { ...HOME };
    this.watcher = new ResizeObserver(() => this.later());
    this.watcher.observe(this.$el);
    window.addEventListener("halfroll-theme", this.later);
    const family = getComputedStyle(this.$el).fontFamily; // a canvas does not wait for its letters
    Promise.all([`13px ${family}`, `600 13px ${family}`].map((font) => document.fonts.load(font))).then(this.later, this.later);
    this.$emit("ready");
  },
  beforeUnmount() {
    this.watcher.disconnect();
    cancelAnimationFrame(this.frame);
    clearTimeout(this.rest);
    window.removeEventListener("halfroll-theme", this.later);
  },
  methods: {
    show(parts, bed, still) {
      this.$refs.still.innerHTML = still;
      this.bed = bed;
      this.parts = parts.map((part) => prepared(part));
      const low = [0, 1, 2].map((k) => Math.min(...this.parts.map((part) => part.low[k]))), high = [0, 1, 2].map((k) => Math.max(...this.parts.map((part) => part.high[k])));
      this.middle = [0, 1, 2].map((k) => (low[k] + high[k]) / 2);
      this.reach = Math.max(Math.hypot(high[0] - low[0], high[1] - low[1], high[2] - low[2]) / 2, 20) * 1.02;
      this.later();
    },
    later() {
      clearTimeout(this.rest);
      cancelAnimationFrame(this.frame);
      this.frame = requestAnimationFrame(() => this.draw(2));
    },
    quick() { // coarse while it moves, sharp when it rests
      cancelAnimationFrame(this.frame);
      this.frame = requestAnimationFrame(() => this.draw(1));
      clearTimeout(this.rest);
      this.rest = setTimeout(this.later, 150);
    },
    press(what) {
      const view = this.view;
      if (VIEWS[what]) this.view = { ...VIEWS[what] };
      else if (what === "left" || what === "right") view.yaw += what === "left" ? -15 : 15;
      else if (what === "up" || what === "down") view.pitch = clamp(view.pitch + (what === "up" ? 10 : -10), -90, 90);
      else view.zoom = clamp(view.zoom * (what === "larger" ? 1.25 : 0.8), 0.5, 8);
      this.quick();
    },
    key(event) {
      const what = { ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down", "+": "larger", "=": "larger", "-": "smaller", Home: "home" }[event.key];
      if (!what || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      this.press(what);
    },
    take(event) {
      this.$refs.canvas.setPointerCapture(event.pointerId);
      this.held = { x: event.clientX, y: event.clientY, ...this.view };
    },
    drag(event) {
      const held = this.held;
      if (!held) return;
      this.view.yaw = held.yaw + 0.5 * (event.clientX - held.x);
      this.view.pitch = clamp(held.pitch + 0.5 * (event.clientY - held.y), -90, 90);
      this.quick();
    },
    drop() {
      if (!this.held) return;
      this.held = null;
      this.later();
    },
    draw(sharp) {
      const canvas = this.$refs.canvas, wide = Math.floor(this.$el.clientWidth);
      if (!this.parts || !wide) return;
      const high = Math.round(clamp(0.6 * wide, 220, 520));
      canvas.style.height = `${high}px`;
      canvas.width = wide * sharp;
      canvas.height = high * sharp;
      const style = getComputedStyle(this.$el), colour = (name) => rgb(style.getPropertyValue(name).trim());
      const look = { ink: colour("--ink"), raised: colour("--raised"), quiet: colour("--quiet"), accent: colour("--accent") };
      const context = canvas.getContext("2d");
      const scene = new Scene(canvas.width, canvas.height, this.view, this.middle, this.reach, look);
      scene.plate(this.bed);
      for (const part of this.parts) scene.part(part);
      context.putImageData(scene.image, 0, 0);
      this.write(context, scene, sharp, style);
      if (sharp > 1) this.$el.dataset.drawn = `${wide} ${Math.round(this.view.yaw)} ${Math.round(this.view.pitch)}`;
    },
    write(context, scene, sharp, style) { // names and sizes over the parts, the way layers go at the plate's corner
      const ink = style.getPropertyValue("--ink"), paper = style.getPropertyValue("--raised");
      const text = (words, x, y, bold) => {
        context.font = `${bold ? "600 " : ""}${13 * sharp}px ${style.fontFamily}`;
        context.lineWidth = 4 * sharp; context.lineJoin = "round"; context.textAlign = "center";
        context.strokeStyle = paper; context.strokeText(words, x, y);
        context.fillStyle = ink; context.fillText(words, x, y);
      };
      const spot = [0, 1].map((k) => Math.min(...this.parts.map((part) => part.low[k])));
      const low = scene.at(spot[0] - 6, spot[1] - 6, 0), high = scene.at(spot[0] - 6, spot[1] - 6, 0.25 * this.reach);
      const inside = clamp(low[0], 26 * sharp, scene.wide - 26 * sharp) - low[0];
      low[0] += inside; high[0] += inside;
      if (Math.hypot(high[0] - low[0], high[1] - low[1]) > 12 * sharp) {
        context.strokeStyle = ink; context.lineWidth = 1.2 * sharp; context.beginPath();
        context.moveTo(low[0], low[1]); context.lineTo(high[0], high[1]);
        const way = Math.sign(high[1] - low[1]) || -1, s = 5 * sharp;
        context.moveTo(high[0] - 0.6 * s, high[1] - way * 1.6 * s); context.lineTo(high[0], high[1]); context.lineTo(high[0] + 0.6 * s, high[1] - way * 1.6 * s);
        context.stroke();
        text("layers", high[0], high[1] + way * 8 * sharp + (way > 0 ? 8 * sharp : 0));
      }
      const taken = [], roomy = scene.wide > 520 * sharp || this.parts.length < 3; // else the table says the sizes
      for (const part of this.parts) {
        const words = roomy ? [part.name, part.size] : [part.name];
        context.font = `600 ${13 * sharp}px ${style.fontFamily}`;
        const half = Math.max(...words.map((one) => context.measureText(one).width)) / 2 + 3 * sharp, tall = (16 * words.length + 2) * sharp;
        let [x, y] = scene.at(...part.middle);
        x = clamp(x, half, scene.wide - half);
        y = clamp(y, 16 * sharp, scene.high - tall);
        for (let tries = 0; tries < 8 && taken.some((t) => Math.abs(t[0] - x) < half + t[2] && Math.abs(t[1] - y) < tall); tries++) y += y < scene.high - 2 * tall ? 0.5 * tall : -2.5 * tall;
        taken.push([x, y, half]);
        words.forEach((one, n) => text(one, x, y + 15 * n * sharp, n === 0));
      }
    },
  },
};

function clamp(value, low, high) { return Math.min(Math.max(value, low), high); }

function rgb(text) {
  const hex = text.replace("#", "");
  return [0, 2, 4].map((k) => parseInt(hex.slice(k, k + 2), 16));
}

// A part from the wire: corners in mm, and what shading and lines need: a normal for each corner of each triangle (smooth up to a
// crease), and the edges with the faces on both sides.
function prepared(part) {
  const raw = new Int16Array(bytes(part.corners)), faces = new Uint32Array(bytes(part.triangles));
  const corners = Float32Array.from(raw, (v) => v * part.unit);
  const many = faces.length / 3, normals = new Float32Array(3 * many), areas = new Float32Array(many);
  const around = Array.from({ length: corners.length / 3 }, () => []);
  for (let f = 0; f < many; f++) {
    const [a, b, c] = [0, 1, 2].map((k) => 3 * faces[3 * f + k]);
    const u = [0, 1, 2].map((k) => corners[b + k] - corners[a + k]), v = [0, 1, 2].map((k) => corners[c + k] - corners[a + k]);
    const n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
    const l = Math.hypot(...n);
    areas[f] = l;
    for (let k = 0; k < 3; k++) { normals[3 * f + k] = l ? n[k] / l : 0; around[faces[3 * f + k]].push(f); }
  }
  const dot = (f, g) => normals[3 * f] * normals[3 * g] + normals[3 * f + 1] * normals[3 * g + 1] + normals[3 * f + 2] * normals[3 * g + 2];
  const smooth = new Float32Array(9 * many);
  for (let f = 0; f < many; f++) for (let k = 0; k < 3; k++) {
    const n = [0, 0, 0];
    for (const g of around[faces[3 * f + k]]) if (dot(f, g) > CREASE) for (let j = 0; j < 3; j++) n[j] += areas[g] * normals[3 * g + j];
    const l = Math.hypot(...n) || 1;
    for (let j = 0; j < 3; j++) smooth[9 * f + 3 * k + j] = n[j] / l;
  }
  const open = new Map(), edges = [];
  for (let f = 0; f < many; f++) for (let k = 0; k < 3; k++) {
    const a = faces[3 * f + k], b = faces[3 * f + (k + 1) % 3], key = a < b ? a * 67108864 + b : b * 67108864 + a;
    const other = open.get(key);
    if (other === undefined) open.set(key, f);
    else { edges.push([a, b, f, other, dot(f, other) < CREASE]); open.delete(key); }
  }
  const low = [0, 1, 2].map((k) => corners.reduce((least, v, n) => (n % 3 === k && v < least ? v : least), 1e9));
  const high = [0, 1, 2].map((k) => corners.reduce((most, v, n) => (n % 3 === k && v > most ? v : most), -1e9));
  return { ...part, low, high, corners, faces, normals, smooth, edges };
}

class Scene {
  constructor(wide, high, view, middle, reach, look) {
    Object.assign(this, { wide, high, middle, look });
    this.image = new ImageData(wide, high);
    this.pixels = new Uint32Array(this.image.data.buffer);
    this.depth = new Float32Array(wide * high).fill(-1e9);
    this.scale = view.zoom * 0.54 * Math.min(wide / reach, high / (reach * Math.max(0.66, Math.sin(Math.abs(view.pitch) * RADIANS))));
    const [c, s] = [Math.cos(view.yaw * RADIANS), Math.sin(view.yaw * RADIANS)];
    const [p, q] = [Math.cos(view.pitch * RADIANS), Math.sin(view.pitch * RADIANS)];
    this.right = [c, -s, 0];
    this.up = [s * q, c * q, p];
    this.towards = [-s * p, -c * p, q];
  }

  at(x, y, z) { // place on the canvas and nearness
    x -= this.middle[0]; y -= this.middle[1]; z -= this.middle[2];
    return [
      this.wide / 2 + this.scale * (this.right[0] * x + this.right[1] * y),
      this.high / 2 - this.scale * (this.up[0] * x + this.up[1] * y + this.up[2] * z),
      this.towards[0] * x + this.towards[1] * y + this.towards[2] * z,
    ];
  }

  plate(bed) { // lines every 10 mm, every fifth and the rim stronger
    for (const [n, other, place] of [[bed[0], bed[1], (u, v) => [u, v, 0]], [bed[1], bed[0], (u, v) => [v, u, 0]]]) {
      for (let u = 0; u < n + 0.01; u += 10) this.line(this.at(...place(u, 0)), this.at(...place(u, other)), u % 50 ? 0.14 : 0.34, 0.05, this.look.quiet);
      this.line(this.at(...place(n, 0)), this.at(...place(n, other)), 0.8, 0.05, this.look.quiet);
      this.line(this.at(...place(0, 0)), this.at(...place(0, other)), 0.8, 0.05, this.look.quiet);
    }
  }

  part(part) {
    const { corners, faces, normals, smooth, edges } = part, many = faces.length / 3;
    const seen = new Float32Array(corners.length);
    for (let v = 0; v < corners.length; v += 3) seen.set(this.at(corners[v], corners[v + 1], corners[v + 2]), v);
    const front = new Uint8Array(many), t = this.towards;
    for (let f = 0; f < many; f++) {
      const n = 3 * f;
      front[f] = normals[n] * t[0] + normals[n + 1] * t[1] + normals[n + 2] * t[2] > 0 ? 1 : 0;
      if (!front[f]) continue;
      const low = Math.min(corners[3 * faces[n] + 2], corners[3 * faces[n + 1] + 2], corners[3 * faces[n + 2] + 2]);
      const hangs = normals[n + 2] < OVER && low > 0.02;
      this.fill(seen, faces, f, smooth, hangs);
    }
    for (const [a, b, f, g, crease] of edges) {
      if (front[f] === front[g] && !(crease && front[f])) continue;
      this.line(seen.subarray(3 * a, 3 * a + 3), seen.subarray(3 * b, 3 * b + 3), crease ? 0.75 : 0.9, 0.12, this.look.ink);
    }
  }

  fill(seen, faces, f, smooth, hangs) {
    const [a, b, c] = [3 * faces[3 * f], 3 * faces[3 * f + 1], 3 * faces[3 * f + 2]];
    const [ax, ay, az, bx, by, bz, cx, cy, cz] = [seen[a], seen[a + 1], seen[a + 2], seen[b], seen[b + 1], seen[b + 2], seen[c], seen[c + 1], seen[c + 2]];
    const whole = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
    if (!whole) return;
    const shade = [0, 1, 2].map((k) => 0.5 + 0.5 * (smooth[9 * f + 3 * k] * LIGHT[0] + smooth[9 * f + 3 * k + 1] * LIGHT[1] + smooth[9 * f + 3 * k + 2] * LIGHT[2]));
    const left = Math.max(Math.ceil(Math.min(ax, bx, cx)), 0), right = Math.min(Math.floor(Math.max(ax, bx, cx)), this.wide - 1);
    const top = Math.max(Math.ceil(Math.min(ay, by, cy)), 0), bottom = Math.min(Math.floor(Math.max(ay, by, cy)), this.high - 1);
    for (let y = top; y <= bottom; y++) for (let x = left; x <= right; x++) {
      const u = ((bx - x) * (cy - y) - (by - y) * (cx - x)) / whole, v = ((cx - x) * (ay - y) - (cy - y) * (ax - x)) / whole, w = 1 - u - v;
      if (u < 0 || v < 0 || w < 0) continue;
      const z = u * az + v * bz + w * cz, at = y * this.wide + x;
      if (z <= this.depth[at]) continue;
      this.depth[at] = z;
      this.pixels[at] = this.colour(u * shade[0] + v * shade[1] + w * shade[2], hangs);
    }
  }

  colour(light, hangs) { // on paper shadow is ink; in the dark light is ink
    const { ink, raised, accent } = this.look;
    const bright = ink[0] + ink[1] + ink[2] > raised[0] + raised[1] + raised[2];
    const share = bright ? 0.14 + 0.62 * light : 0.76 - 0.62 * light;
    let [r, g, b] = [0, 1, 2].map((k) => share * ink[k] + (1 - share) * raised[k]);
    if (hangs) [r, g, b] = [0.45 * r + 0.55 * accent[0], 0.45 * g + 0.55 * accent[1], 0.45 * b + 0.55 * accent[2]];
    return 0xff000000 | (b << 16) | (g << 8) | r;
  }

  line(from, to, strength, nearer, ink) {
    const steps = Math.min(Math.ceil(Math.max(Math.abs(to[0] - from[0]), Math.abs(to[1] - from[1]))), 4000) || 1;
    for (let n = 0; n <= steps; n++) {
      const s = n / steps, x = Math.round(from[0] + s * (to[0] - from[0])), y = Math.round(from[1] + s * (to[1] - from[1]));
      if (x < 0 || y < 0 || x >= this.wide || y >= this.high) continue;
      const z = from[2] + s * (to[2] - from[2]) + nearer, at = y * this.wide + x;
      if (z < this.depth[at]) continue;
      const old = this.pixels[at], under = old >>> 24 ? [old & 255, (old >> 8) & 255, (old >> 16) & 255] : this.look.raised;
      const [r, g, b] = [0, 1, 2].map((k) => strength * ink[k] + (1 - strength) * under[k]);
      this.pixels[at] = (0xff000000 | (b << 16) | (g << 8) | r) >>> 0;
    }
  }
}
