#include "desk/pages/frame.hpp"

#include <fmt/format.h>

#include "desk/web/message.hpp"

namespace breakstep::desk {

std::string head(const std::string& title, const std::string& form_token, std::initializer_list<const char*> scripts) {
    std::string text = fmt::format(
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">"
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">"
        "<meta name=\"color-scheme\" content=\"dark light\">{}<title>{} - breakstep</title>"
        "<link rel=\"icon\" href=\"/icon.svg\" type=\"image/svg+xml\"><link rel=\"stylesheet\" href=\"/desk.css\">",
        form_token.empty() ? std::string() : fmt::format("<meta name=\"desk-token\" content=\"{}\">", html(form_token)),
        html(title));
    for (const char* script : scripts) text += fmt::format("<script src=\"/{}\" defer></script>", script);
    return text + "</head>\n";
}

namespace {

struct Link {
    const char *path, *words;
};
constexpr Link links[] = {{"/", "Evening"},      {"/video", "Video"},       {"/athletes", "Athletes"},
                          {"/drills", "Drills"}, {"/progress", "Progress"}, {"/phones", "Phones"}};

}  // namespace

std::string top(const Frame& frame, const std::string& title, const std::string& here,
                std::initializer_list<const char*> scripts) {
    std::string text = head(title, frame.form_token, scripts);
    text += fmt::format(
        "<body data-commands=\"{}\"><a class=\"jump\" href=\"#main\">To the page itself</a>"
        "<header class=\"club\"><p><b>{}</b> <span class=\"quiet\">phone {} {}</span></p><nav "
        "aria-label=\"Pages\"><ul>",
        frame.commands ? "yes" : "no", html(frame.club), frame.phone, frame.commands ? "commands" : "watches");
    for (const Link& link : links)
        text += fmt::format("<li><a href=\"{}\"{}>{}</a></li>", link.path,
                            here == link.path ? " aria-current=\"page\"" : "", link.words);
    return text + "</ul></nav></header>\n<main id=\"main\" tabindex=\"-1\">\n";
}

}  // namespace breakstep::desk
