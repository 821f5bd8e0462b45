import { scan } from "./camera.ts";

/** A picture from the camera over the screen until a code is seen or the person stops it. */
export async function scanBox(stopWords: string): Promise<string | null> {
  const box = document.createElement("div");
  box.className = "camera";
  const video = document.createElement("video");
  video.muted = true;
  video.playsInline = true;
  const stop = document.createElement("button");
  stop.className = "low-key";
  stop.textContent = stopWords;
  box.append(video, stop);
  document.body.append(box);
  const stopped = new AbortController();
  stop.addEventListener("click", () => stopped.abort());
  try {
    return await scan(video, stopped.signal);
  } finally {
    box.remove();
  }
}
