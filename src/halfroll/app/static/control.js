// A form control that keeps what a person is typing: the page may be redrawn around it at any moment.
export default {
  template: `<component :is="tag" ref="box" @input="entered" @change="entered"
    ><option v-for="choice in choices" :key="choice[0]" :value="choice[0]">{{ choice[1] }}</option></component>`,
  props: { tag: String, initial: String, choices: Array },
  emits: ["entered"],
  mounted() { this.set(this.initial); },
  methods: {
    set(value) {
      this.last = value;
      this.$nextTick(() => { this.$refs.box.value = value; });
    },
    entered() {
      const value = this.$refs.box.value;
      if (value !== this.last) this.$emit("entered", (this.last = value));
    },
    focus() { this.$refs.box.focus(); },
  },
};
