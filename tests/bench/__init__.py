"""Speed and memory as ratios, all from one run: what the program costs beside a bare app on the same machine."""
