// The bar at the foot of the bench: what plays, how far it is, and a stop that always works, also by the Escape key.
export default {
  template: `<div class="stopbar" :class="{ playing }" role="region" aria-label="Sound">
    <button type="button" class="stop" @click="stop"><span aria-hidden="true">■</span> Stop <kbd>Esc</kbd></button>
    <div class="state"><p role="status">{{ text }}</p>
      <div class="progress" v-show="playing"><i :style="{ width: 100 * done + '%' }"></i></div></div></div>`,
  emits: ["stop"],
  data: () => ({ text: "Nothing plays.", done: 0, playing: false }),
  mounted() {
    this.key = (event) => { if (event.key === "Escape") this.stop(); };
    window.addEventListener("keydown", this.key, true);
  },
  beforeUnmount() { window.removeEventListener("keydown", this.key, true); },
  methods: {
    stop() { this.$emit("stop"); if (this.playing) this.text = "Stopping."; },
    show(text, done, playing) { this.text = text; this.done = done; this.playing = playing; },
  },
};
