"""The one step of the build that pyproject.toml cannot say: `presets/` is copied into the package."""

from __future__ import annotations

import shutil
from pathlib import Path

from setuptools import setup
from setuptools.command.build_py import build_py


class BuildWithPresets(build_py):
    """Packages, and the shipped presets in `holders/presets`; an editable install finds them where they are."""

    def run(self) -> None:
        """Build."""
        # a clone keeps its build folder, and what was renamed since must not travel
        if not self.editable_mode:
            shutil.rmtree(Path(self.build_lib) / "holders", ignore_errors=True)
        super().run()
        if not self.editable_mode:
            for source, target in self._presets().items():
                self.mkpath(str(Path(target).parent))
                self.copy_file(source, target)

    def get_outputs(self, include_bytecode: bool = True) -> list[str]:
        """Every file that the build makes."""
        return [*super().get_outputs(include_bytecode), *self._presets().values()]

    def _presets(self) -> dict[str, str]:
        if self.editable_mode:
            return {}
        folder = Path("presets")
        files = sorted([*folder.glob("*.toml"), *folder.glob("*.json")])
        return {str(file): str(Path(self.build_lib) / "holders" / "presets" / file.name) for file in files}


setup(cmdclass={"build_py": BuildWithPresets})
