import { useEffect, useState } from "preact/hooks";
import { get } from "../api";

export function Privacy(): preact.JSX.Element {
  const [told, setTold] = useState<string[]>([]);
  useEffect(() => {
    void get<{ paragraphs: string[] }>("/api/privacy").then((said) => setTold(said.paragraphs));
  }, []);
  return (
    <>
      {told.map((paragraph) => (
        <p key={paragraph}>{paragraph}</p>
      ))}
    </>
  );
}
