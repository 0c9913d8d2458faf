// A chart specification drawn with Vega. The element says its width and look; the server answers with "draw".
// The pointer reads values in the drawing; the arrow keys move the same readout and speak it.
let library = null;
const load = (url) => (library ??= new Promise((resolve, reject) => {
  const script = document.createElement("script");
  script.type = "module";
  script.src = url;
  script.onload = resolve;
  script.onerror = () => reject(new Error("the chart library could not be loaded"));
  document.head.append(script);
}));

export default {
  template: `<div><div ref="drawing" role="img" :aria-label="label" @keydown="step"></div
    ><p ref="readout" class="unseen" aria-live="polite"></p></div>`,
  mixins: [window.halfrollMeasured],
  props: { library: String, options: Object, label: String },
  beforeUnmount() {
    this.view?.finalize();
  },
  methods: {
    async draw(spec) {
      try {
        await load(this.library);
        const made = await window.vegaEmbed(this.$refs.drawing, spec, { ...this.options, logLevel: 1 });
        this.view?.finalize();
        this.view = made.view;
        this.learn(spec);
        this.$el.dataset.drawn = this.shown;
      } catch (fault) {
        this.$refs.readout.classList.remove("unseen");
        this.$refs.readout.textContent = `The chart could not be drawn: ${fault.message}.`;
      }
    },
    learn(spec) {
      this.rows = spec.datasets.hover ?? [];
      this.names = (spec.datasets.names ?? []).map((row) => row.name);
      this.stops = [...new Set(this.rows.map((row) => row.x))].sort((a, b) => a - b);
      const written = JSON.stringify(spec.layer).match(/format\(datum\.y, '[^']*'\).*?\+ '([^']*)'"/);
      this.unit = written ? written[1] : "";
      this.at = -1;
      const drawing = this.$refs.drawing;
      drawing.setAttribute("role", "img"); // the chart library puts a role of its own there
      drawing.setAttribute("aria-label", this.label + (this.stops.length ? " Arrow keys read values." : ""));
      if (this.stops.length) drawing.tabIndex = 0;
    },
    step(event) {
      const last = (this.stops?.length ?? 0) - 1;
      const to = { ArrowRight: this.at + 1, ArrowLeft: this.at < 0 ? last : this.at - 1, Home: 0, End: last }[event.key];
      if (to === undefined || last < 0) return;
      event.preventDefault();
      this.at = Math.min(Math.max(to, 0), last);
      const x = this.stops[this.at];
      this.point(x);
      this.$refs.readout.textContent = `${x.toPrecision(3) * 1}: ` + this.rows.filter((row) => row.x === x)
        .map((row) => `${this.names[row.s] ?? ""} ${row.b ? "at most " : ""}${row.y.toPrecision(3) * 1}${this.unit}`)
        .join("; ");
    },
    point(x) {
      const box = this.$refs.drawing.querySelector("svg").getBoundingClientRect();
      const place = {
        clientX: box.left + this.view.origin()[0] + this.view.scale("x")(x),
        clientY: box.top + this.view.origin()[1] + this.view.height() / 2,
      };
      document.elementFromPoint(place.clientX, place.clientY)
        ?.dispatchEvent(new PointerEvent("pointermove", { ...place, bubbles: true }));
    },
  },
};
