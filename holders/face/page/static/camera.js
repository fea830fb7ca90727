// A preset from the code on a job sheet, held before this computer's camera; pictures go to the page's own server alone.
import { Trouble, postText, wait } from "./api.js";
const $ = (id) => document.getElementById(id);
const EVERY_MS = 300, NO_CODE = "no preset's code is found";

// the answer to the first picture that holds a code, or null where it was stopped
export async function byCamera() {
  const box = $("camera"), view = $("camera-view");
  let camera = null, stopped = false;
  try { camera = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 1280 } } }); } catch {
    throw new Trouble("No camera can be used here. Take a photo of the code and press Open.");
  }
  const stop = () => { stopped = true; };
  try {
    view.srcObject = camera;
    $("camera-stop").addEventListener("click", stop);
    box.hidden = false;
    $("camera-stop").focus();
    await view.play();
    while (!stopped && camera.active) {
      const answer = await looked(view);
      if (answer) return answer;
      await wait(EVERY_MS);
    }
    return null;
  } finally {
    for (const track of camera.getTracks()) track.stop();
    view.srcObject = null;
    $("camera-stop").removeEventListener("click", stop);
    box.hidden = true;
    $("open").focus();
  }
}

async function looked(view) {
  const picture = document.createElement("canvas");
  Object.assign(picture, { width: view.videoWidth, height: view.videoHeight });
  picture.getContext("2d").drawImage(view, 0, 0);
  const file = await new Promise((resolve) => picture.toBlob(resolve, "image/png"));
  try { return await postText("/api/open", await file.arrayBuffer()); } catch (error) {
    if (error.errors && error.errors.some((one) => one.way_out.includes(NO_CODE))) return null;
    throw error;
  }
}
