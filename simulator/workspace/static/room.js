// A result in 3D: the viewer of the hand-outs, moved together with the plan.

import { h } from "/static/dom.js";
import { RoomViewer } from "/viewer/viewer.js";

const GOAL = 50; // of the surface that can be shown [°C]

export class Room {
  constructor(number) {
    this.canvas = h("canvas", { class: "room" });
    this.viewer = null;
    this.slices = false;
    const tick = (key, text, isOn, set) =>
      h("label", { class: "tick" }, [h("input", { id: `room-${key}-${number}`, type: "checkbox", checked: isOn, onchange: (event) => set(event.target.checked) }), ` ${text}`]);
    const setting = (key, on, off) => (isOn) => this.viewer?.set({ [key]: isOn ? on : off });
    this.node = h("div", {}, [
      h("div", { class: "room-place" }, this.canvas),
      h("div", { class: "tools", role: "group", "aria-label": "Shown in 3D" }, [
        tick("furniture", "furniture", true, setting("furniture", true, false)),
        tick("spots", "cold spots", true, setting("spots", true, false)),
        tick("slice", "slice", false, (isOn) => {
          this.slices = isOn;
          this.viewer?.set({ slice: isOn ? this.height : null });
        }),
        tick("surface", "surface of 50 °C (122 °F)", false, setting("level", GOAL, null)),
        tick("jets", "air from fans and heaters", false, setting("jets", true, false)),
      ]),
    ]);
  }

  /** Draw a field; the node must be in the page by now. */
  show(field, { spot, time }) {
    if (!RoomViewer.isSupported()) {
      this.node.replaceChildren(h("p", { class: "quiet", text: "This browser draws no 3D (WebGL2 is missing); the plan shows the same." }));
      return;
    }
    this.viewer = new RoomViewer(this.canvas, field);
    this.viewer.addEventListener("spot", (event) => {
      if (!this.isMoving) spot(event.detail.id === null ? null : Number(event.detail.id));
    });
    this.viewer.addEventListener("time", (event) => {
      if (!this.isMoving) time(event.detail.time);
    });
  }

  /** Show the time [s], height [m] and cold spot that the plan shows. */
  move(seconds, height, spot) {
    this.height = height;
    if (!this.viewer) return;
    this.isMoving = true;
    if (this.viewer.field.frameAt(seconds) !== this.viewer.frame) this.viewer.showTime(seconds);
    if (this.slices && this.viewer.settings.slice !== height) this.viewer.set({ slice: height });
    this.viewer.highlight(spot === null ? null : String(spot));
    this.isMoving = false;
  }

  dispose() {
    this.viewer?.dispose();
  }
}
