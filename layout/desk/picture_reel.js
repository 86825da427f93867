// What is looked at: a photo, or a video frame by frame. The file stays in this browser; only a kind of video
// that no browser steps through is handed to the desk on this machine, which cuts frames out and keeps nothing.
const MOST = 50e6; // pixels of a photo
const LARGEST = 2e9; // bytes of a video that the desk is handed
const TICK = 0.001; // just before a frame [s]
const FIRST = 6; // frames stepped over to learn how far apart they are
const RATES = [960, 480, 240, 120, 60, 50, 30, 25, 15, 10, 5, 2, 1];
const UNREADABLE = "This file is neither a picture nor a video that can be read, or it is cut off.";
const NO_VIDEO = "cannot be read: no video";
export class Trouble extends Error {}

// A picture's own end: nothing after the last line that a camera writes is needed, nothing before it may lack.
const cutOff = async (file) => {
  const data = new Uint8Array(await file.arrayBuffer());
  const ends = (marks) => {
    for (let i = data.length - marks.length; i >= 2; i -= 1) if (marks.every((m, k) => data[i + k] === m)) return i;
    return -1;
  };
  if (data[0] === 0x89 && data[1] === 0x50) return ends([0x49, 0x45, 0x4e, 0x44]) < 0;
  if (data[0] !== 0xff || data[1] !== 0xd8) return false;
  let at = 2;
  while (at + 4 < data.length && data[at] === 0xff && data[at + 1] !== 0xda) at += 2 + (data[at + 2] << 8) + data[at + 3];
  return ends([0xff, 0xd9]) < at; // a small picture inside the header has an end of its own
};

const photo = async (file) => {
  const image = new Image();
  image.src = URL.createObjectURL(file);
  try {
    await new Promise((go, stop) => {
      image.onload = go;
      image.onerror = stop;
    });
  } catch {
    return null;
  } finally {
    URL.revokeObjectURL(image.src);
  }
  const [wide, high] = [image.naturalWidth, image.naturalHeight];
  if (!wide || !high) throw new Trouble(UNREADABLE);
  if (wide * high > MOST) {
    throw new Trouble(`This picture has ${Math.round((wide * high) / 1e6)} megapixels; at most ${MOST / 1e6} can be shown. Save it smaller first.`);
  }
  if (await cutOff(file)) throw new Trouble("This picture is cut off: copy it from the camera again.");
  try {
    return { still: true, frame: await createImageBitmap(image) };
  } catch {
    throw new Trouble("This picture cannot be shown: it is damaged or cut off.");
  }
};

// A video that the browser plays. Times are those of the frames shown, as the browser tells them.
class Played {
  static async open(file, box) {
    const video = document.createElement("video");
    Object.assign(video, { muted: true, playsInline: true, preload: "auto", src: URL.createObjectURL(file) });
    box.replaceChildren(video);
    const reel = new Played();
    reel.video = video;
    try {
      await new Promise((go, stop) => {
        video.onloadeddata = go;
        video.onerror = stop;
        setTimeout(stop, 8000);
      });
      if (!video.videoWidth || !Number.isFinite(video.duration) || !video.requestVideoFrameCallback) throw new Error();
      reel.end = video.duration;
      reel.now = await reel.seek(0);
      const first = reel.now;
      // The gap between frames: the first other frame, looked for from the fastest rate on.
      for (const rate of RATES) {
        const seen = await reel.seek(first + 1.02 / rate);
        if (seen > first + TICK / 4) {
          reel.gap = seen - first;
          break;
        }
      }
      if (!reel.gap) throw new Error();
      // Frames of a phone come unevenly: the shortest of the first gaps is what a step begins with.
      let steps = 0;
      while (steps < FIRST && reel.now < reel.end - 2 * reel.gap) {
        await reel.step();
        steps += 1;
      }
      reel.usual = steps ? (reel.now - first) / steps : reel.gap;
      reel.now = await reel.seek(first + reel.gap / 4);
      await reel.grab();
      return reel;
    } catch {
      reel.close();
      return null;
    }
  }
  seek(time) {
    return new Promise((go, stop) => {
      const { video } = this;
      const damaged = () => stop(new Trouble("The video cannot be read here: it is cut off or damaged."));
      const late = setTimeout(damaged, 4000);
      const id = video.requestVideoFrameCallback((_, meta) => {
        clearTimeout(late);
        go(meta.mediaTime);
      });
      video.onerror = () => {
        clearTimeout(late);
        video.cancelVideoFrameCallback(id);
        damaged();
      };
      video.currentTime = Math.min(Math.max(time, 0), this.end);
    });
  }
  async grab() {
    this.frame?.close();
    this.frame = await createImageBitmap(this.video);
  }
  async next() {
    await this.step();
    await this.grab();
  }
  async step() {
    const from = this.now;
    let seen = from;
    for (let far = 1.5; seen <= from + TICK / 4 && from + (far - 0.5) * this.gap < this.end; far += 1) {
      seen = await this.seek(from + far * this.gap);
    }
    // A longer way than usual: was one passed over? What stands just before it tells.
    while (seen - from > 1.25 * this.gap) {
      const before = await this.seek(seen - TICK);
      if (before <= from + TICK / 4) {
        await this.seek(seen + this.gap / 4);
        break;
      }
      seen = before;
    }
    this.now = seen;
    this.nearest(seen - from);
  }
  nearest(gap) {
    if (gap > TICK) this.gap = Math.min(this.gap, gap);
  }
  async back() {
    const from = this.now;
    if (from <= TICK) return;
    this.now = await this.seek(from - TICK);
    this.nearest(from - this.now);
    await this.grab();
  }
  async to(time) {
    this.now = await this.seek(time);
    await this.grab();
  }
  // Time since the frame before [s].
  async since() {
    const here = this.now;
    if (here <= TICK) return this.gap;
    const before = await this.seek(here - TICK);
    await this.seek(here + this.gap / 4);
    return here > before ? here - before : this.gap;
  }
  close() {
    URL.revokeObjectURL(this.video.src);
    this.video.removeAttribute("src");
    this.video.remove();
  }
}

// A video that the desk cuts frames out of: times of all frames are known, pictures come some at a time.
class Cut {
  static async open(file) {
    if (file.size > LARGEST) throw new Trouble(`This video has ${(file.size / 1e9).toFixed(1)} GB; at most ${LARGEST / 1e9} can be read. Cut it shorter first.`);
    const reel = new Cut();
    Object.assign(reel, { file, kept: new Map(), index: 0 });
    await reel.fetch(0);
    reel.end = reel.times.at(-1);
    reel.usual = reel.end / Math.max(reel.times.length - 1, 1) || 1 / 30; // mean gap: single ones may be rounded
    await reel.take(0);
    return reel;
  }
  async fetch(index) {
    const from = Math.max(index - 2, 0);
    const at = this.times ? this.times[from] : 0;
    const answer = await fetch(`/frame?from=${at.toFixed(6)}&count=8`, {
      method: "POST", body: this.file, headers: { "content-type": "application/octet-stream" },
    });
    if (!answer.ok) throw new Trouble(UNREADABLE);
    if (answer.headers.get("content-type").includes("json")) {
      const { why } = await answer.json();
      if (!this.file.type.startsWith("video/") && why.startsWith(NO_VIDEO)) throw new Trouble(UNREADABLE);
      throw new Trouble(`This video ${why.startsWith("cannot") || why.startsWith("has") ? why : `cannot be shown: ${why}`}.`);
    }
    const data = await answer.arrayBuffer();
    const size = new DataView(data).getUint32(0);
    const head = JSON.parse(new TextDecoder().decode(new Uint8Array(data, 4, size)));
    this.times = head.times;
    let start = 4 + size;
    for (const [i, length] of head.sizes.entries()) {
      this.kept.set(head.first + i, new Blob([new Uint8Array(data, start, length)], { type: "image/jpeg" }));
      start += length;
    }
    if (this.kept.size > 60) for (const old of [...this.kept.keys()].slice(0, 30)) if (Math.abs(old - index) > 12) this.kept.delete(old);
  }
  async take(index) {
    if (!this.kept.has(index)) await this.ahead;
    if (!this.kept.has(index)) await this.fetch(index);
    if (!this.kept.has(index)) throw new Trouble("This frame cannot be read: the video is cut off or damaged.");
    const frame = await createImageBitmap(this.kept.get(index));
    this.frame?.close();
    Object.assign(this, { frame, index, now: this.times[index] });
    const [before, after] = [Math.max(index - 1, 0), Math.min(index + 1, this.times.length - 1)];
    this.gap = (this.times[after] - this.times[before]) / Math.max(after - before, 1) || 1 / 30;
    // What the next steps will want is cut meanwhile.
    const soon = [index + 3, index - 3].find((i) => i >= 0 && i < this.times.length && !this.kept.has(i));
    if (soon !== undefined) this.ahead = this.fetch(soon < index ? soon - 3 : soon).catch(() => {});
  }
  next() {
    return this.take(Math.min(this.index + 1, this.times.length - 1));
  }
  back() {
    return this.take(Math.max(this.index - 1, 0));
  }
  to(time) {
    const after = this.times.findIndex((t) => t > time);
    return this.take(after < 0 ? this.times.length - 1 : Math.max(after - 1, 0));
  }
  since() {
    return Promise.resolve(this.index ? this.now - this.times[this.index - 1] : this.gap);
  }
  close() {
    this.frame?.close();
    this.kept.clear();
  }
}

// Rounded times of this kind cannot be told from each other reliably at high rates: the desk knows them whole.
const rounded = (file) => /webm|matroska/.test(file.type) || /\.(webm|mkv)$/i.test(file.name);
export const open = async (file, box) => {
  if (!file.size) throw new Trouble("This file is empty.");
  const still = file.type.startsWith("video/") ? null : await photo(file);
  if (still) return still;
  if (rounded(file)) {
    try {
      return await Cut.open(file);
    } catch (error) {
      const played = await Played.open(file, box);
      if (played) return played;
      throw error;
    }
  }
  return (await Played.open(file, box)) ?? Cut.open(file);
};
