// What comes back in messages: a terminal must not obey it, and a page must not be filled by it.
#include <doctest/doctest.h>

#include "core/error.hpp"

using namespace breakstep;

TEST_CASE("control bytes, marks of direction and bytes that are no UTF-8 are shown, not sent") {
    CHECK(shown_text("Teal") == "Teal");
    CHECK(shown_text("a\x1b[2Jb") == "a\\x1b[2Jb");
    CHECK(shown_text(std::string_view("a\0\n\x7f", 4)) == "a\\x00\\x0a\\x7f");
    CHECK(shown_text("\xc2\x9b"
                     "31m") == "\\xc2\\x9b31m");                          // a control character of two bytes
    CHECK(shown_text("Zo\xc3\xab \xc2\xb5s") == "Zo\xc3\xab \xc2\xb5s");  // and those that are none
    CHECK(shown_text("\xc2") == "\\xc2");
    CHECK(shown_text("Te\xe2\x80\xae"
                     "al") == "Te\\xe2\\x80\\xaeal");
}

TEST_CASE("a long text is cut between two characters") {
    CHECK(shown_text(std::string(1000, 'x')) == std::string(1000, 'x'));
    CHECK(shown_text(std::string(1001, 'x')) == std::string(1000, 'x') + "...");
    CHECK(shown_text("ab\xc3\xab"
                     "c",
                     3) == "ab\xc3\xab...");
}

TEST_CASE("of a message of a megabyte a person sees what happened and what to do") {
    const Error error{ErrorKind::bad_input, "there is no drill " + std::string(1 << 20, 'x'), "check its name"};
    const std::string text = error.text();
    CHECK(text.size() < 1100);
    CHECK(text.starts_with("there is no drill xxx"));
    CHECK(text.ends_with("xxx; check its name"));
    const Error typed{ErrorKind::bad_input, std::string(1 << 20, 'x') + " can't be opened: permission denied", ""};
    CHECK(typed.text().size() < 1100);
    CHECK(typed.text().ends_with("x can't be opened: permission denied"));
    const Error other{ErrorKind::bad_input, "no", std::string(1 << 20, 'y')};
    CHECK(other.text().size() < 4100);  // there may be a list of what there is
    CHECK(Error{ErrorKind::bad_input, std::string(1 << 20, '\x01'), ""}.text().size() < 1100);
    CHECK(Error{ErrorKind::bad_input, "a\tb", ""}.text() == "a\\x09b");
}
