// A chart specification drawn with Vega. The element says its width and look; the server answers with "draw".
let library = null;
const load = (url) => (library ??= new Promise((resolve, reject) => {
  const script = document.createElement("script");
  script.type = "module";
  script.src = url;
  script.onload = resolve;
  script.onerror = () => reject(new Error("The chart library could not be loaded."));
  document.head.append(script);
}));

export default {
  template: `<div><div ref="drawing" role="img" tabindex="0" :aria-label="label"
    @keydown="step"></div><p ref="readout" class="readout quiet" aria-live="polite"></p></div>`,
  props: { library: String, options: Object, label: String },
  mounted() {
    this.shown = "";
    this.watcher = new ResizeObserver(() => { clearTimeout(this.later); this.later = setTimeout(this.ask, 120); });
    this.watcher.observe(this.$el);
    window.addEventListener("halfroll-theme", this.ask);
    window.addEventListener("beforeprint", this.ask);
  },
  beforeUnmount() {
    this.watcher.disconnect();
    clearTimeout(this.later);
    window.removeEventListener("halfroll-theme", this.ask);
    this.view?.finalize();
  },
  methods: {
    ask() {
      const width = Math.floor(this.$el.clientWidth);
      const dark = document.documentElement.dataset.theme === "dark";
      const wanted = `${width} ${dark}`;
      if (!width || wanted === this.shown) return;
      this.shown = wanted;
      this.$emit("measure", { width, dark });
    },
    async draw(spec) {
      try {
        await load(this.library);
        const made = await window.vegaEmbed(this.$refs.drawing, spec, { ...this.options, logLevel: 1 });
        this.view?.finalize();
        this.view = made.view;
        this.$el.dataset.drawn = this.shown;
      } catch (fault) {
        this.$refs.readout.textContent = `The chart could not be drawn: ${fault.message}`;
      }
    },
  },
};
