// What the sanitizers should pass over: glib, pango and fontconfig are not built with them. They keep their fonts for
// the whole run, and synchronise in ways that can't be seen from outside.
extern "C" const char* __lsan_default_suppressions();
extern "C" const char* __tsan_default_suppressions();

extern "C" const char* __lsan_default_suppressions() { return "leak:libfontconfig\nleak:libpango\nleak:libglib\n"; }
extern "C" const char* __tsan_default_suppressions() {
    return "race:libglib-2.0.so\nrace:libfontconfig.so\nrace:libpango\n"
           "called_from_lib:libglib-2.0.so\ncalled_from_lib:libfontconfig.so\ncalled_from_lib:libpangoft2-1.0.so\n";
}
