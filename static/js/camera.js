// Reads barcodes with the camera of a tablet that has no scanner. Pictures never leave the browser: it decodes them
// itself where it can, else with the vendored decoder, and keeps none.
"use strict";

(() => {
  const REST = 80; // ms between two pictures
  const SIDE = 1280; // points of the longer side of a picture; more only takes longer
  const KIND = { browser: "code_128", vendored: "Code128" };
  const HOLD = "Hold one barcode along the line.";
  const NO_SECURITY = "The camera works only where this page comes over https, or on the server itself. Close this, then press N and type the number.";
  const REFUSED = {
    NotAllowedError: "The browser may not use the camera. Allow it for this page in its settings, then press Camera again.",
    NotFoundError: "This device has no camera. Close this, then press N and type the number.",
  };
  const BROKEN = "The camera does not start. Close other programs that use it, then press Camera again.";
  const NO_DECODER = "The decoder did not load. Check the network, then press Camera again.";

  const panel = document.getElementById("camera");
  const video = panel.querySelector("video");
  const said = panel.querySelector("p");
  const canvas = document.createElement("canvas");
  let stream = null;
  let decoder = null; // a promise of a function: canvas → texts of the barcodes on it

  function loadScript(address) {
    return new Promise((done, failed) => {
      const script = Object.assign(document.createElement("script"), { src: address, onload: done, onerror: failed });
      document.head.append(script);
    });
  }

  async function makeDecoder() {
    const formats = (await window.BarcodeDetector?.getSupportedFormats()) ?? [];
    if (formats.includes(KIND.browser)) {
      const own = new BarcodeDetector({ formats: [KIND.browser] });
      return async (picture) => (await own.detect(picture)).map((code) => code.rawValue);
    }
    const { decoder: script, wasm } = panel.dataset;
    await loadScript(script);
    await ZXingWASM.prepareZXingModule({ overrides: { locateFile: () => wasm }, fireImmediately: true });
    return async (picture) => {
      const points = picture.getContext("2d").getImageData(0, 0, picture.width, picture.height);
      const codes = await ZXingWASM.readBarcodes(points, { formats: [KIND.vendored], tryHarder: true });
      return codes.map((code) => code.text);
    };
  }

  function takePicture() {
    const share = Math.min(1, SIDE / Math.max(video.videoWidth, video.videoHeight));
    canvas.width = Math.round(video.videoWidth * share);
    canvas.height = Math.round(video.videoHeight * share);
    canvas.getContext("2d", { willReadFrequently: true }).drawImage(video, 0, 0, canvas.width, canvas.height);
    return canvas;
  }

  // A code counts when two pictures running show it and no other one.
  async function watch(mine, decode) {
    let before = "";
    while (stream === mine) {
      const codes = video.videoWidth ? await decode(takePicture()) : [];
      const [code, ...others] = new Set(codes.filter(Wedge.isWhole));
      if (stream !== mine) return;
      said.textContent = others.length ? "More than one barcode in sight: show one." : HOLD;
      if (code && code === before && !others.length) {
        panel.close();
        Wedge.hear(code);
        return;
      }
      before = others.length ? "" : code;
      await new Promise((done) => setTimeout(done, REST));
    }
  }

  async function open() {
    if (panel.open) return;
    said.textContent = "The camera starts.";
    panel.showModal();
    if (!navigator.mediaDevices?.getUserMedia) {
      said.textContent = NO_SECURITY;
      return;
    }
    const mine = await navigator.mediaDevices
      .getUserMedia({ video: { facingMode: "environment", width: { ideal: SIDE } } })
      .catch((error) => void (said.textContent = REFUSED[error.name] ?? BROKEN));
    if (!mine) return;
    stop(); // of an opening before this one
    stream = mine;
    if (!panel.open) {
      stop();
      return;
    }
    video.srcObject = mine;
    decoder ??= makeDecoder();
    try {
      await video.play();
      await watch(mine, await decoder);
    } catch {
      decoder = null;
      if (stream === mine) said.textContent = NO_DECODER;
    }
  }

  function stop() {
    for (const track of stream?.getTracks() ?? []) track.stop();
    stream = null;
    video.srcObject = null;
  }

  document.body.classList.add("has-camera");
  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-camera]")) open();
  });
  panel.querySelector("button").addEventListener("click", () => panel.close());
  panel.addEventListener("close", stop);
  document.addEventListener("visibilitychange", () => document.hidden && panel.close());
  window.addEventListener("pagehide", () => panel.close());
})();
