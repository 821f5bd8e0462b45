interface Detector { detect(source: HTMLVideoElement): Promise<{ rawValue: string }[]> }

declare global {
  interface Window { BarcodeDetector?: new (options: { formats: string[] }) => Detector }
}

export const canScan = (): boolean => "BarcodeDetector" in window && isSecureContext && !!navigator.mediaDevices;

/** Look through the camera until a QR code is seen; null when there is no picture or the person stops. */
export async function scan(video: HTMLVideoElement, stopped: AbortSignal): Promise<string | null> {
  const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } }).catch(() => null);
  if (!stream || !window.BarcodeDetector) return null;
  try {
    video.srcObject = stream;
    await video.play();
    return await look(new window.BarcodeDetector({ formats: ["qr_code"] }), video, stopped);
  } finally {
    stream.getTracks().forEach((track) => track.stop());
    video.srcObject = null;
  }
}

async function look(detector: Detector, video: HTMLVideoElement, stopped: AbortSignal): Promise<string | null> {
  while (!stopped.aborted) {
    const [found] = await detector.detect(video).catch(() => []);
    if (found) return found.rawValue;
    await new Promise((resolve) => requestAnimationFrame(resolve));
  }
  return null;
}
