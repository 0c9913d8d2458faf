// Levels of the input channels: r.m.s. as a bar, peak as a line, the highest peak held as a tick, all with numbers.
const FLOOR = -90;
const db = (value) => (value > 0 ? 20 * Math.log10(value) : -Infinity);
const words = (value) => (value > -120 ? `${value.toFixed(1).replace("-", "\u2212")}\u202fdB` : "silent");
const at = (value) => `${Math.min(Math.max(100 * (1 - value / FLOOR), 0), 100)}%`;
export default {
  template: `<div class="meters">
    <div v-for="(row, n) in rows" :key="n" class="meter" role="meter" :aria-label="row.name" :aria-valuemin="floor"
        aria-valuemax="0" :aria-valuenow="Math.max(row.peak, floor).toFixed(1)"
        :aria-valuetext="'peak ' + words(row.peak) + (row.over ? ', over full scale' : '')">
      <span class="name">{{ row.name }}</span>
      <span class="track" aria-hidden="true"><i class="rms" :style="{ width: at(row.rms) }"></i
        ><i class="peak" :style="{ left: at(row.peak) }"></i><i class="held" :style="{ left: at(row.held) }"></i></span>
      <span class="over">{{ row.over ? "OVER" : "" }}</span>
      <span class="numbers-line">peak <b>{{ words(row.peak) }}</b>, highest <b>{{ words(row.held) }}</b>,
        r.m.s. <b>{{ words(row.rms) }}</b><template v-if="row.value"> = <b>{{ row.value }}</b></template></span>
    </div>
    <div class="scale" aria-hidden="true" v-if="rows.length"><span v-for="mark in marks" :key="mark"
      :style="{ left: at(mark) }">{{ words0(mark) }}</span></div>
    <button v-if="rows.length" type="button" class="plain" @click="reset">Forget highest and OVER</button></div>`,
  data: () => ({ rows: [], floor: FLOOR, marks: [-80, -60, -40, -20, 0] }),
  methods: {
    words, at,
    words0(mark) { return mark ? String(mark).replace("-", "\u2212") : "0\u202fdB"; },
    // rows: [name, peak, rms, overs, value in words] of every channel
    show(rows) {
      this.rows = rows.map(([name, peak, rms, over, value], n) => {
        const old = this.rows[n]?.name === name ? this.rows[n] : { held: -Infinity, over: false };
        return { name, value, peak: db(peak), rms: db(rms), held: Math.max(old.held, db(peak)), over: old.over || over > 0 };
      });
    },
    reset() { for (const row of this.rows) { row.held = row.peak; row.over = false; } },
  },
};
