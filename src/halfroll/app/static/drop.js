// Files dropped on the page, or chosen, sent to the server one by one.
export default {
  template: `<div class="drop" :class="{ over }" @dragover.prevent="over = true" @dragleave="over = false"
      @drop.prevent="dropped">
    <input ref="box" type="file" multiple :accept="accept" class="unseen" :id="name" @change="chosen" />
    <label :for="name" class="button main">Choose files</label>
    <p>or drop them here: {{ kinds }}</p>
    <p class="quiet small" role="status">{{ state }}</p></div>`,
  props: { url: String, accept: String, kinds: String, name: String },
  emits: ["kept", "refused"],
  data: () => ({ over: false, state: "" }),
  mounted() {
    this.stray = (event) => event.preventDefault(); // a file dropped beside the field must not replace the page
    window.addEventListener("dragover", this.stray);
    window.addEventListener("drop", this.stray);
  },
  beforeUnmount() {
    window.removeEventListener("dragover", this.stray);
    window.removeEventListener("drop", this.stray);
  },
  methods: {
    chosen(event) { this.send([...event.target.files]); event.target.value = ""; },
    dropped(event) { this.over = false; this.send([...event.dataTransfer.files]); },
    async send(files) {
      for (const file of files) {
        this.state = `Reading ${file.name}`;
        try {
          const answer = await this.post(file);
          this.$emit(answer.refused ? "refused" : "kept", answer);
        } catch {
          this.$emit("refused", { name: file.name, refused: "It did not reach the server. Is it still running?" });
        }
      }
      this.state = "";
    },
    post(file) {
      return new Promise((resolve, reject) => {
        const form = new FormData();
        form.append("file", file, file.name);
        form.append("written_ms", String(file.lastModified));
        const request = new XMLHttpRequest();
        request.upload.onprogress = (event) => {
          this.state = `Reading ${file.name}: ${Math.round((100 * event.loaded) / event.total)} %`;
        };
        request.onload = () => { try { resolve(JSON.parse(request.responseText)); } catch (fault) { reject(fault); } };
        request.onerror = reject;
        request.open("POST", this.url);
        request.send(form);
      });
    },
  },
};
