// The hand-out's own part: which state is shown, in 3D where it can be, else as a picture.
(() => {
  "use strict";
  const { RoomViewer, ViewerControls, temperatureText, timeText, unpackText } = roomsoakViewer;
  const data = JSON.parse(document.getElementById("data").textContent);
  const at = (id) => document.getElementById(id);
  const fields = new Map();
  const isAble = RoomViewer.isSupported();
  let viewer = null;
  let controls = null;
  let wanted = null;
  let chapter = null;

  async function show() {
    const [option] = at("state").selectedOptions;
    const key = option.value;
    wanted = key;
    chapter = option.dataset.chapter;
    const room = data.rooms[key];
    at("not-done").textContent = `Hiding places not done when the run ends: ${room.not_done}`;
    listSpots(room);
    if (!isAble || !room.packed) {
      showStill(room);
      return;
    }
    if (!fields.has(key)) fields.set(key, await unpackText(room.packed));
    if (wanted !== key) return;
    at("view").hidden = false;
    at("hint").hidden = false;
    at("panel").hidden = false;
    at("still").hidden = true;
    const field = fields.get(key);
    if (viewer) {
      viewer.load(field);
    } else {
      viewer = new RoomViewer(at("room"), field);
      controls = new ViewerControls(at("panel"), viewer, { units: data.units });
      viewer.addEventListener("time", tellNow);
      viewer.addEventListener("spot", markSpot);
    }
    controls.refresh();
    tellNow();
    markSpot();
    document.documentElement.dataset.shown = key;
  }

  function showStill(room) {
    at("view").hidden = true;
    at("hint").hidden = true;
    at("panel").hidden = true;
    at("still").hidden = false;
    at("picture").src = room.still ? `data:image/png;base64,${room.still}` : "";
    at("picture").hidden = !room.still;
    at("picture").alt = `The room, ${room.name}, at the end of the heat`;
    at("why").textContent = isAble
      ? "This state is shown as a picture, to keep the page small."
      : "This browser cannot draw in 3D (no WebGL 2): the room is shown as a picture.";
    at("now").textContent = "";
    document.documentElement.dataset.shown = room.key;
  }

  function nearest(times, time) {
    const far = times.map((t) => Math.abs(t - time));
    return far.indexOf(Math.min(...far));
  }

  function tellNow() {
    const room = data.rooms[wanted];
    const n = nearest(room.times, viewer.time);
    at("now").textContent = `After ${timeText(viewer.time)}: ${data.cold[chapter][wanted][n]} below `
      + `${data.fifty}, in the hiding places that all '${chapter}' states have; coldest place `
      + temperatureText(room.coldest[n], data.units);
  }

  function listSpots(room) {
    at("spots-title").textContent = room.spots.length ? "Cold or slow spots" : "No cold spots";
    at("spots").replaceChildren(...room.spots.map(({ id, words }) => {
      const item = document.createElement("li");
      const button = document.createElement("button");
      button.type = "button";
      button.dataset.id = id;
      button.textContent = `${id}  ${words}`;
      button.setAttribute("aria-pressed", "false");
      button.addEventListener("click", () => {
        if (viewer) viewer.highlight(viewer.highlighted === id ? null : id);
      });
      item.append(button);
      return item;
    }));
  }

  function markSpot() {
    for (const button of at("spots").querySelectorAll("button")) {
      button.setAttribute("aria-pressed", String(viewer && button.dataset.id === viewer.highlighted));
    }
  }

  at("state").addEventListener("change", show);
  show();
})();
