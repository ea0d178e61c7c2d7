// What stands around every page of the desk. Internal to this folder.
#pragma once

#include <initializer_list>
#include <string>

#include "desk/pages/pages.hpp"

namespace breakstep::desk {

[[nodiscard]] std::string head(const std::string& title, const std::string& form_token,
                               std::initializer_list<const char*> scripts);
/// `here`: the path of the link in the menu that this page is, or "".
[[nodiscard]] std::string top(const Frame& frame, const std::string& title, const std::string& here,
                              std::initializer_list<const char*> scripts);
/// What the main thread asks: filled in by questions.js.
inline constexpr const char* questions_part =
    "<section id=\"questions\" aria-labelledby=\"question\" hidden><h2 id=\"question\" tabindex=\"-1\"></h2>"
    "<pre id=\"question-lines\" class=\"words\" tabindex=\"0\" aria-label=\"What was said\"></pre>"
    "<ul id=\"question-ticks\" class=\"rows\"></ul><div id=\"question-choices\" class=\"buttons\"></div>"
    "<form id=\"question-form\"><label for=\"question-line\">Or type an answer</label><span class=\"pair\"><input "
    "id=\"question-line\" maxlength=\"180\" autocomplete=\"off\"><button>Answer</button></span></form>"
    "<div class=\"buttons\"><button id=\"question-go\" class=\"thumb main\"></button></div>"
    "<p id=\"question-said\" role=\"status\"></p></section>"
    "<dialog id=\"pick\" aria-labelledby=\"pick-title\"><form method=\"dialog\"><h2 id=\"pick-title\"></h2><div "
    "id=\"pick-list\" class=\"buttons\"></div><button value=\"\" class=\"thumb\">Not now</button></form></dialog>";
inline constexpr const char* bottom = "</main></body></html>\n";

}  // namespace breakstep::desk
