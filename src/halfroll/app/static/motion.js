// The moving parts through their travel: pictures made by the server, one of them shown. A slider chooses it; Play runs through them
// as a slow tone would. Nothing moves before it is asked to, and never for those who want no motion: then Play steps from end to end.
const PERIOD_S = 4;

export default {
  template: `<div class="board motion">
    <div ref="paper"></div>
    <div class="motion-bar no-print">
      <button type="button" :aria-pressed="playing ? 'true' : 'false'" @click="toggle">{{ playing ? 'Pause' : 'Play' }}</button>
      <label><span>Displacement</span>
        <input type="range" ref="slider" min="0" :max="Math.max(frames.length - 1, 0)" step="1" v-model.number="at"
               :aria-valuetext="words" @input="chosen" @keydown="key"></label>
      <output>{{ words }}</output>
    </div>
  </div>`,
  props: { start: { type: Number, default: 0 } },
  mixins: [window.halfrollMeasured],
  emits: ["measure", "chosen"],
  data: () => ({ frames: [], at: 0, playing: false }),
  computed: {
    words() {
      const x = this.frames[this.at];
      return x === undefined ? "" : `${x > 0 ? "+" : ""}${x.toFixed(2)}`.replace("-", "\u2212") + "\u202fmm";
    },
  },
  mounted() {
    window.addEventListener("beforeprint", this.rest);
  },
  beforeUnmount() {
    cancelAnimationFrame(this.running);
    window.removeEventListener("beforeprint", this.rest);
  },
  methods: {
    draw(svg) {
      const x = this.frames[this.at];
      this.$refs.paper.innerHTML = svg;
      this.$el.dataset.drawn = this.shown;
      this.groups = [...this.$refs.paper.querySelectorAll("g.frame")];
      this.frames = this.groups.map((one) => Number(one.dataset.x));
      this.at = this.nearest(x ?? this.start);
      this.show();
    },
    nearest(x) {
      let best = 0;
      this.frames.forEach((one, k) => { if (Math.abs(one - x) < Math.abs(this.frames[best] - x)) best = k; });
      return best;
    },
    show() {
      this.groups?.forEach((one, k) => {
        if (k === this.at) one.removeAttribute("visibility");
        else one.setAttribute("visibility", "hidden");
      });
    },
    rest() {
      this.at = this.nearest(0);
      this.show();
    },
    chosen() {
      this.stop();
      this.show();
      this.tell();
    },
    tell() {
      clearTimeout(this.telling);
      this.telling = setTimeout(() => this.$emit("chosen", { x: this.frames[this.at] }), 120);
    },
    key(event) {
      if (event.key === " ") { event.preventDefault(); this.toggle(); }
    },
    toggle() {
      if (this.playing) { this.stop(); this.tell(); return; }
      if (!this.frames.length) return;
      if (window.matchMedia("(prefers-reduced-motion: reduce)").matches) { this.step(); return; }
      this.playing = true;
      const last = this.frames.length - 1;
      const start = performance.now() - 1000 * PERIOD_S * Math.asin(Math.max(-1, Math.min(1, 2 * this.at / last - 1))) / (2 * Math.PI);
      const run = (now) => {
        if (!this.playing) return;
        const turn = 2 * Math.PI * (now - start) / (1000 * PERIOD_S);
        const at = Math.round(last * (0.5 + 0.5 * Math.sin(turn)));
        if (at !== this.at) { this.at = at; this.show(); }
        this.running = requestAnimationFrame(run);
      };
      this.running = requestAnimationFrame(run);
    },
    step() { // without motion: the ends and rest, one at a press
      const stops = [this.nearest(0), this.frames.length - 1, 0];
      this.at = stops[(stops.indexOf(this.at) + 1) % stops.length];
      this.show();
      this.tell();
    },
    stop() {
      this.playing = false;
      cancelAnimationFrame(this.running);
    },
  },
};
