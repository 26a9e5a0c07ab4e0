//! Makes a live tree look like new HTML by changing only what differs, so that focus, selection, scroll and
//! opened details survive. Nodes of equal tag and id are kept; an element with `data-island` is left alone
//! once it exists; the value of a focused field is never written.
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{Element, HtmlInputElement, HtmlTemplateElement, Node};

/// Patches `root`'s children into what `html` says.
///
/// # Errors
/// Where the browser refuses a change of its tree.
pub fn patch(root: &Element, html: &str) -> Result<(), JsValue> {
    let document = root.owner_document().ok_or("no document")?;
    let template: HtmlTemplateElement = document.create_element("template")?.dyn_into().map_err(|_| "no template")?;
    template.set_inner_html(html);
    children(root, template.content().as_ref())
}

fn children(old: &Node, new: &Node) -> Result<(), JsValue> {
    let mut at = old.first_child();
    let mut next_new = new.first_child();
    while let Some(wanted) = next_new {
        // Taken before `wanted` may move out of the new tree.
        next_new = wanted.next_sibling();
        match find(at.as_ref(), &wanted) {
            Some(kept) => {
                if at.as_ref() == Some(&kept) {
                    at = kept.next_sibling();
                } else {
                    old.insert_before(&kept, at.as_ref())?;
                }
                node(&kept, &wanted)?;
            }
            None => {
                old.insert_before(&wanted, at.as_ref())?;
            }
        }
    }
    while let Some(surplus) = at {
        at = surplus.next_sibling();
        old.remove_child(&surplus)?;
    }
    Ok(())
}

/// The old node to keep for `wanted`: one of its id among those not passed yet, else the next one if it has no id either.
fn find(at: Option<&Node>, wanted: &Node) -> Option<Node> {
    let at = at?;
    let id = id_of(wanted);
    if id.is_empty() {
        return (id_of(at).is_empty() && at.node_name() == wanted.node_name()).then(|| at.clone());
    }
    let mut candidate = Some(at.clone());
    while let Some(node) = candidate {
        if id_of(&node) == id && node.node_name() == wanted.node_name() {
            return Some(node);
        }
        candidate = node.next_sibling();
    }
    None
}

fn id_of(node: &Node) -> String {
    node.dyn_ref::<Element>().map(Element::id).unwrap_or_default()
}

fn node(old: &Node, new: &Node) -> Result<(), JsValue> {
    let (Some(old_element), Some(new_element)) = (old.dyn_ref::<Element>(), new.dyn_ref::<Element>()) else {
        if old.node_value() != new.node_value() {
            old.set_node_value(new.node_value().as_deref());
        }
        return Ok(());
    };
    if old_element.has_attribute("data-island") {
        return Ok(());
    }
    attributes(old_element, new_element)?;
    let typed = old_element.tag_name() == "TEXTAREA" && old.text_content() != new.text_content();
    children(old, new)?;
    if typed {
        let _ = js_sys::Reflect::set(old, &"value".into(), &new.text_content().unwrap_or_default().into());
    }
    Ok(())
}

fn attributes(old: &Element, new: &Element) -> Result<(), JsValue> {
    let is_details = old.tag_name() == "DETAILS";
    for name in names(old) {
        // Whether details are open is the reader's choice.
        if !(new.has_attribute(&name) || is_details && name == "open") {
            old.remove_attribute(&name)?;
            choice(old, &name, false);
        }
    }
    for name in names(new) {
        let value = new.get_attribute(&name).unwrap_or_default();
        if old.get_attribute(&name).as_deref() == Some(value.as_str()) {
            continue;
        }
        old.set_attribute(&name, &value)?;
        choice(old, &name, true);
        if let (Some(input), "value") = (old.dyn_ref::<HtmlInputElement>(), name.as_str()) {
            let focused = old.owner_document().and_then(|d| d.active_element()).is_some_and(|a| &a == old);
            if !focused {
                input.set_value(&value);
            }
        }
    }
    Ok(())
}

/// What was chosen by hand no longer follows its attribute; when the attribute changes, it is to.
fn choice(element: &Element, name: &str, on: bool) {
    if matches!((element.tag_name().as_str(), name), ("INPUT", "checked") | ("OPTION", "selected")) {
        let _ = js_sys::Reflect::set(element, &name.into(), &on.into());
    }
    if let (Some(input), "value", false) = (element.dyn_ref::<HtmlInputElement>(), name, on) {
        input.set_value("");
    }
}

fn names(element: &Element) -> Vec<String> {
    element.get_attribute_names().iter().filter_map(|name| name.as_string()).collect()
}
