"""Says which sample and test tubes are: many by a list, many like one, one by its known value."""

from PySide6.QtCore import QObject, Qt
from PySide6.QtWidgets import QWidget

from app.window.page import Tools
from app.window.photo_list import PhotoList
from app.window.tube_table import TubeTable
from app.wording import say_count


class Namer(QObject):
    """Asks for names and known values, and gives them to the desk."""

    def __init__(self, tools: Tools, strip: PhotoList, table: TubeTable, parent: QWidget) -> None:
        super().__init__(parent)
        self._tools, self._strip, self._table, self._window = tools, strip, table, parent
        table.known_asked.connect(self.ask_known)

    def ask_names(self) -> None:
        """Let the user paste names."""
        from app.window.names_dialog import NamesDialog

        model = self._tools.model
        dialog = NamesDialog(
            self._strip.shown(), self._strip.selected(), model.desk.chosen, self._window
        )
        dialog.taken.connect(lambda edits: model.edit(edits, "name tubes"))
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()

    def same_tests(self) -> None:
        """Give other photos the charts and roles of the chosen one: the selected ones, or all."""
        from app.desk_names import same_tests

        desk = self._tools.model.desk
        selected = set(self._strip.selected())
        photos = [p for p in desk.photos if len(selected) < 2 or p.path in selected]
        if desk.chosen_photo is None:
            return
        edits = same_tests(desk.chosen_photo, photos)
        self._tools.model.edit(edits, "give the same tests")
        said = say_count(len(edits), "photo")
        self._tools.messages.tell(f"{said} took over charts and roles.")

    def ask_known(self, tube: int) -> None:
        """Ask what a tube of known value is."""
        from app.window.known_tube_dialog import KnownTubeDialog

        desk = self._tools.model.desk
        charts = tuple(chart.chart for chart in desk.charts_in_use)
        if not charts:
            self._tools.messages.tell("A chart must be in use first.")
            return
        known = () if desk.chosen_photo is None else desk.chosen_photo.edits.known
        before = next((item for item in known if item.tube == tube), None)
        dialog = KnownTubeDialog(tube, charts, before, self._window)
        dialog.taken.connect(self._table.tubes.declare_known)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()
