using System.Text.Json.Nodes;

namespace CashEvents.Page.Households;

/// <summary>A part of setting up: it asks the server to write, and tells what became of it.</summary>
public abstract class SetUpPart : View
{
    /// <summary>Why nothing was written.</summary>
    protected Problem? Refused { get; private set; }

    /// <summary>That it is written.</summary>
    protected string? Done { get; private set; }

    /// <summary>Has something written.</summary>
    /// <returns>Whether it is.</returns>
    protected async Task<bool> WriteAsync(string address, JsonObject? sent, HttpMethod? method = null)
    {
        Refused = (await Phone.AskAsync(address, sent, method, Phone.NewKey())).Refused;
        Done = Refused is null ? Texts.IsWritten : null;
        return Refused is null;
    }

    /// <summary>Ends something.</summary>
    protected Task EndAsync(string address) => WriteAsync(address, null, HttpMethod.Delete);

    /// <summary>An amount as it was written; null, with why, where it can't be read.</summary>
    protected decimal? Amount(string written)
    {
        var amount = Speech.Read(written);
        (Refused, Done) = (amount is null ? new Problem { Code = "amount-unreadable" } : null, null);
        return amount;
    }

    /// <summary>An id of a label's letters and digits.</summary>
    protected static string Id(string label, string otherwise) => string.Join('-',
        new string([.. label.ToLowerInvariant().Select(c => c is (>= 'a' and <= 'z') or (>= '0' and <= '9') ? c : ' ')])
            .Split(' ', StringSplitOptions.RemoveEmptyEntries)) is { Length: > 0 } id ? id : otherwise;
}
