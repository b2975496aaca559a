using Microsoft.AspNetCore.Components;

namespace CashEvents.Page.Hosting;

/// <summary>A view of the book: shown anew when the book changes.</summary>
public abstract class View : ComponentBase, IDisposable
{
    [Inject]
    internal Phone Phone { get; set; } = null!;

    [Inject]
    internal Speech Speech { get; set; } = null!;

    /// <inheritdoc />
    protected override void OnInitialized() => Phone.Changed += Show;

    /// <inheritdoc />
    public void Dispose()
    {
        Phone.Changed -= Show;
        GC.SuppressFinalize(this);
    }

    /// <summary>An amount of the book.</summary>
    protected string Say(Money amount) => Speech.Figure(amount, Phone.Book!.Currency);

    /// <summary>An amount in major units, as the server tells it.</summary>
    protected string Say(decimal amount) => Speech.Figure(amount, Phone.Book!.Currency.Exponent);

    /// <summary>What is written on a compartment.</summary>
    protected string Label(string compartment) => Wording.Label(Phone, compartment);

    /// <summary>The wallets in use with their compartments in use, as they lie.</summary>
    protected IEnumerable<(Wallet Wallet, List<Compartment> Compartments)> Wallets => Phone.Book!.Wallets.Values
        .Where(w => !w.Closed).OrderBy(w => w.Line)
        .Select(w => (w, Phone.Book.Compartments.Values.Where(c => !c.Closed && c.Wallet == w.Id).OrderBy(c => c.Line)
            .ToList()));

    private void Show() => InvokeAsync(StateHasChanged);
}
