// The picture on the screen: how near it is seen, its points, the loupe, and what fingers, mouse and keys do.
const SLOW = 0.35; // of a finger's way, once it rests on the picture
const LOUPE = 3; // how many times nearer the loupe shows it than the picture is seen
const DARK = "rgba(0,0,0,.8)";
const LOOK = { near: "#ffd23f", far: "#8fd3ff", scale: "#ffffff", aim: "#ffffff", held: "#ff7a59" };
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

// hooks: scene() tells what to draw; put(x, y, grain) sets the next point; shift(x, y) moves the one held;
// held() is where that is; cancel() takes the last put back; done() ends a move.
export class Stage {
  constructor(canvas, loupe, hooks) {
    Object.assign(this, { canvas, loupe, hooks, image: null, view: { x: 0, y: 0, z: 1 }, cross: null });
    this.fingers = new Map();
    canvas.addEventListener("pointerdown", (event) => this.press(event));
    canvas.addEventListener("pointermove", (event) => this.drag(event));
    for (const name of ["pointerup", "pointercancel"]) canvas.addEventListener(name, (event) => this.lift(event));
    canvas.addEventListener("keydown", (event) => this.key(event));
    canvas.addEventListener("blur", () => this.away());
    canvas.addEventListener("contextmenu", (event) => event.preventDefault());
    new ResizeObserver(() => this.resized()).observe(canvas);
  }

  show(image, keep = false) {
    this.image = image;
    if (!keep) this.whole();
    this.draw();
  }
  get grain() {
    return 1 / this.view.z; // picture pixels to one of the screen
  }
  resized() {
    const { width: wide, height: high } = this.canvas.getBoundingClientRect(); // clientWidth is rounded
    if (!wide || !high) return;
    const was = this.wide;
    [this.wide, this.high] = [wide, high];
    const sharp = devicePixelRatio || 1;
    [this.canvas.width, this.canvas.height] = [Math.round(wide * sharp), Math.round(high * sharp)];
    if (!this.image) return;
    if (!was || this.all) this.whole();
    this.draw();
  }
  whole() {
    if (!this.image || !this.wide) return;
    this.view = {
      x: this.image.width / 2, y: this.image.height / 2,
      z: Math.min(this.wide / this.image.width, this.high / this.image.height),
    };
    this.all = true;
    this.draw();
  }
  near(x, y, span) {
    if (!this.image) return;
    this.view = { x, y, z: Math.min(this.wide, this.high) / span };
    this.all = false;
    this.draw();
  }
  zoom(by, at = null) {
    if (!this.image) return;
    const least = Math.min(this.wide / this.image.width, this.high / this.image.height);
    const z = Math.min(Math.max(this.view.z * by, least), 12);
    const [x, y] = at ?? this.hooks.held() ?? [this.view.x, this.view.y];
    const share = 1 - this.view.z / z;
    this.view = { x: this.view.x + (x - this.view.x) * share, y: this.view.y + (y - this.view.y) * share, z };
    this.all = z === least;
    this.draw();
  }
  place(event) {
    const box = this.canvas.getBoundingClientRect();
    const { x, y, z } = this.view;
    return [x + (event.clientX - box.left - this.wide / 2) / z, y + (event.clientY - box.top - this.high / 2) / z];
  }
  inside([x, y]) {
    return [Math.min(Math.max(x, 0), this.image.width), Math.min(Math.max(y, 0), this.image.height)];
  }

  press(event) {
    if (!this.image || event.button > 0) return;
    event.preventDefault();
    this.canvas.focus({ preventScroll: true });
    try {
      this.canvas.setPointerCapture(event.pointerId);
    } catch {
      // A pointer that has gone already.
    }
    this.fingers.set(event.pointerId, [event.clientX, event.clientY]);
    this.cross = null;
    if (this.fingers.size === 2) {
      if (this.moving) this.hooks.cancel();
      this.away();
      return;
    }
    if (this.fingers.size > 2) return;
    const at = this.inside(this.place(event));
    if (!this.hooks.put(...at, this.grain)) return;
    this.moving = { from: [event.clientX, event.clientY], at, slow: event.pointerType === "mouse" ? 1 : SLOW };
    this.under(event, at);
    this.draw();
  }
  drag(event) {
    const was = this.fingers.get(event.pointerId);
    if (!was) return;
    const now = [event.clientX, event.clientY];
    if (this.fingers.size === 2) {
      const other = [...this.fingers].find(([id]) => id !== event.pointerId)[1];
      const apart = ([x, y]) => Math.hypot(x - other[0], y - other[1]);
      const z = this.view.z;
      this.view.x -= (now[0] - was[0]) / 2 / z;
      this.view.y -= (now[1] - was[1]) / 2 / z;
      this.fingers.set(event.pointerId, now);
      this.zoom(apart(now) / Math.max(apart(was), 1), this.place({ clientX: (now[0] + other[0]) / 2, clientY: (now[1] + other[1]) / 2 }));
      return;
    }
    this.fingers.set(event.pointerId, now);
    if (!this.moving) return;
    const { from, at, slow } = this.moving;
    const to = this.inside(at.map((v, i) => v + ((now[i] - from[i]) * slow) / this.view.z));
    this.hooks.shift(...to);
    this.under(event, to);
    this.draw();
  }
  lift(event) {
    this.fingers.delete(event.pointerId);
    if (this.fingers.size || !this.moving) return;
    this.away();
    this.hooks.done();
  }
  away() {
    this.moving = null;
    this.loupe.hidden = true;
    this.draw();
  }

  key(event) {
    if (!this.image) return;
    const way = ARROWS[event.key];
    if (way) {
      const by = event.shiftKey ? 10 : 1;
      const held = this.cross ? null : this.hooks.held();
      if (held) {
        this.hooks.shift(...this.inside([held[0] + by * way[0], held[1] + by * way[1]]));
        this.hooks.done();
      } else {
        const step = by * Math.max(1, this.grain);
        this.cross = this.inside((this.cross ?? [this.view.x, this.view.y]).map((v, i) => v + step * way[i]));
        this.follow();
      }
      this.under(null, this.cross ?? this.hooks.held());
    } else if (event.key === "Enter" || event.key === " ") {
      if (this.cross || !this.hooks.held()) {
        const at = this.cross ?? [this.view.x, this.view.y];
        this.cross = null;
        if (this.hooks.put(...at, this.grain)) this.hooks.done();
      } else this.cross = [...this.hooks.held()];
    } else if (event.key === "+" || event.key === "-") this.zoom(event.key === "+" ? 1.5 : 1 / 1.5, this.cross);
    else return;
    event.preventDefault();
    this.draw();
  }
  follow() {
    const { x, y, z } = this.view;
    const [dx, dy] = [this.cross[0] - x, this.cross[1] - y];
    const [wide, high] = [(0.45 * this.wide) / z, (0.45 * this.high) / z];
    this.view.x += Math.sign(dx) * Math.max(Math.abs(dx) - wide, 0);
    this.view.y += Math.sign(dy) * Math.max(Math.abs(dy) - high, 0);
  }

  // The loupe stands on the side where the finger is not.
  under(event, at) {
    const box = this.canvas.getBoundingClientRect();
    const screen = event ? event.clientX - box.left : (at[0] - this.view.x) * this.view.z + this.wide / 2;
    this.loupe.classList.toggle("away", screen < this.wide / 2);
    this.loupe.hidden = false;
    const sharp = devicePixelRatio || 1;
    const side = Math.round((this.loupe.clientWidth || 136) * sharp);
    if (this.loupe.width !== side) this.loupe.width = this.loupe.height = side;
    const ink = this.loupe.getContext("2d");
    const z = Math.max(LOUPE * this.view.z, 1) * sharp;
    ink.fillStyle = "#101215";
    ink.fillRect(0, 0, side, side);
    ink.imageSmoothingEnabled = z < 3;
    ink.setTransform(z, 0, 0, z, side / 2 - z * at[0], side / 2 - z * at[1]);
    ink.drawImage(this.image, 0, 0);
    ink.setTransform(1, 0, 0, 1, 0, 0);
    for (const [colour, width] of [[DARK, 4 * sharp], ["#fff", 1.5 * sharp]]) {
      ink.strokeStyle = colour;
      ink.lineWidth = width;
      ink.beginPath();
      for (const [a, b] of [[0.1, 0.44], [0.56, 0.9]]) {
        ink.moveTo(a * side, side / 2);
        ink.lineTo(b * side, side / 2);
        ink.moveTo(side / 2, a * side);
        ink.lineTo(side / 2, b * side);
      }
      ink.stroke();
    }
  }

  draw() {
    if (!this.image || !this.wide) return;
    const ink = this.canvas.getContext("2d");
    const sharp = this.canvas.width / this.wide;
    const { x, y, z } = this.view;
    ink.setTransform(sharp, 0, 0, sharp, 0, 0);
    ink.fillStyle = "#101215";
    ink.fillRect(0, 0, this.wide, this.high);
    const to = ([px, py]) => [(px - x) * z + this.wide / 2, (py - y) * z + this.high / 2];
    const [left, top] = to([0, 0]);
    ink.imageSmoothingEnabled = z < 3;
    ink.drawImage(this.image, left, top, this.image.width * z, this.image.height * z);
    this.canvas.dataset.view = `${x} ${y} ${z}`;
    const scene = this.hooks.scene();
    const line = (points, colour, width, dash = [], closed = false) => {
      ink.beginPath();
      for (const [i, point] of points.entries()) ink[i ? "lineTo" : "moveTo"](...to(point));
      if (closed) ink.closePath();
      ink.setLineDash([]);
      ink.lineWidth = width + 2;
      ink.strokeStyle = DARK;
      ink.stroke();
      ink.setLineDash(dash);
      ink.lineWidth = width;
      ink.strokeStyle = colour;
      ink.stroke();
      ink.setLineDash([]);
    };
    const plus = ([px, py], size, colour, width) => {
      const arm = size / z;
      line([[px - arm, py], [px + arm, py]], colour, width);
      line([[px, py - arm], [px, py + arm]], colour, width);
    };
    for (const { points, closed } of scene.over) line(points, LOOK.aim, 1.2, [5, 3], closed);
    for (const { from, to: end, far } of scene.bones) line([from, end], far ? LOOK.far : LOOK.near, 2.5, far ? [7, 5] : []);
    for (const { at, kind, held } of scene.points) {
      const [px, py] = to(at);
      const colour = held ? LOOK.held : LOOK[kind];
      if (kind === "scale") {
        plus(at, 8, colour, 2);
        continue;
      }
      for (const [radius, fill] of [[6.5, DARK], [5, colour], [1.6, DARK]]) {
        ink.beginPath();
        ink.arc(px, py, radius, 0, 7);
        ink.fillStyle = fill;
        ink.fill();
      }
    }
    if (this.cross) plus(this.cross, 14, LOOK.held, 1.5);
  }
}
